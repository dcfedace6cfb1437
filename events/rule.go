package events

// ruleUnits gives each rule that a house may set for itself the unit of its
// value. What the rules mean, and what holds where a house is silent, stands in
// the dated reference files of the sciences.
var ruleUnits = map[string]string{
	"thaw_hours": "h", "thawed_hours": "h",
	"fatty_from": "%", "fatty_months": "mo", "lean_months": "mo",
	"thiamine": "mg/kg", "vitamin_e": "[iU]/kg",
	"shortage_days": "d", "freezer": "Cel", "thaw_reserve": "%",
	"coliform_most": "{MPN}/dL", "coliform_days": "d", "ph_days": "d", "chemical_days": "d",
	"salinity_least": "[ppth]", "salinity_most": "[ppth]", "ph_least": "[pH]", "ph_most": "[pH]",
	"temperature_least": "Cel", "temperature_most": "Cel", "free_chlorine_most": "mg/L", "total_chlorine_most": "mg/L", "ozone_most": "mg/L",
	"weigh_days": "d", "check_days": "d", "coat_days": "d", "train_days": "d", "mass_week": "%", "mass_month": "%", "silent_hours": "h", "waiting_hours": "h",
	"refusal": "h", "eaten_least": "%", "trials_days": "d", "trials_chance": "%", "order_hours": "h", "scale_least": "%", "scale_days": "d",
}

// RuleSet is a house's own value for one of the rules that the program works
// by, from this time on.
type RuleSet struct {
	Rule   string   `json:"rule" new:"rule" enum:"thaw_hours,thawed_hours,fatty_from,fatty_months,lean_months,thiamine,vitamin_e,shortage_days,freezer,thaw_reserve,coliform_most,coliform_days,ph_days,chemical_days,salinity_least,salinity_most,ph_least,ph_most,temperature_least,temperature_most,free_chlorine_most,total_chlorine_most,ozone_most,weigh_days,check_days,coat_days,train_days,mass_week,mass_month,silent_hours,waiting_hours,refusal,eaten_least,trials_days,trials_chance,order_hours,scale_least,scale_days" doc:"which rule"`
	Value  Quantity `json:"value" unit:"h,mo,%,mg/kg,[iU]/kg,d,Cel,[pH],[ppth],mg/L,{MPN}/dL" min:"-100" max:"10000" doc:"the value that holds in this house"`
	Reason string   `json:"reason" len:"1000" doc:"why, and who decided it"`
}

func (r *RuleSet) check(out *Problems) {
	if unit := ruleUnits[r.Rule]; r.Value.Unit != unit {
		out.add("data.value.unit", "is %q; %s is counted in %s", r.Value.Unit, r.Rule, unit)
	}
	if r.Value.Unit != "Cel" && r.Value.Float(r.Value.Unit) < 0 {
		out.add("data.value.value", "is %s; %s can't be below zero", r.Value.Value, r.Rule)
	}
}

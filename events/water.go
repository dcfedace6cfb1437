package events

import (
	"fmt"
	"slices"
	"strings"
)

// waterUnits are the units that go with each thing that is measured in water.
// What is allowed of it stands in the dated reference file of the rules.
var waterUnits = map[string][]string{
	"temperature": {"Cel"}, "ph": {"[pH]"}, "salinity": {"[ppth]", "%"},
	"free_chlorine": {"mg/L"}, "total_chlorine": {"mg/L"}, "ozone": {"mg/L"}, "ammonia": {"mg/L"}, "nitrate": {"mg/L"},
	"total_coliform": {"{MPN}/dL", "[CFU]/dL"}, "faecal_coliform": {"{MPN}/dL", "[CFU]/dL"}, "enterococci": {"{MPN}/dL", "[CFU]/dL"},
	"turbidity": {"1"},
}

// WaterReading is one value of a water test, kept as the laboratory wrote it:
// `below` and `above` carry results such as <1 or too numerous to count.
type WaterReading struct {
	What  string   `json:"what" enum:"temperature,ph,salinity,free_chlorine,total_chlorine,ozone,total_coliform,faecal_coliform,enterococci,turbidity,ammonia,nitrate" doc:"what was measured"`
	Value Quantity `json:"value" unit:"Cel,[pH],[ppth],mg/L,{MPN}/dL,[CFU]/dL,%,1" min:"-5" max:"10000000" doc:"the value as read"`
	Bound string   `json:"bound,omitempty" enum:"below,above" doc:"set when the result is a bound: below for <1, above for too numerous to count"`
}

// WaterTested is one sample or one reading of the water of an enclosure.
type WaterTested struct {
	Enclosure string         `json:"enclosure" ref:"enclosure"`
	Readings  []WaterReading `json:"readings" doc:"what was measured"`
	Sample    string         `json:"sample,omitempty" format:"code" doc:"the id of the sample"`
	Repeat    string         `json:"repeat,omitempty" format:"code" doc:"the sample that this one repeats"`
	Method    string         `json:"method,omitempty"`
	Text      string         `json:"text,omitempty" len:"4000"`
}

func (w *WaterTested) check(out *Problems) {
	for i, r := range w.Readings {
		field := fmt.Sprintf("data.readings[%d].value", i)
		if units := waterUnits[r.What]; !slices.Contains(units, r.Value.Unit) {
			out.add(field+".unit", "is %q; %s is measured in %s", r.Value.Unit, r.What, strings.Join(units, " or "))
		} else if r.What != "temperature" && r.Value.Float(r.Value.Unit) < 0 {
			out.add(field+".value", "is %s; %s can't be below zero", r.Value.Value, r.What)
		}
	}
}

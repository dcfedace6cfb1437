package events

import "strconv"

func indexed(field string, i int) string { return field + "[" + strconv.Itoa(i) + "]" }

// WeightTaken is one reading of a scale. 4,500 kg is above the heaviest
// pinniped on record, so more is a slip of the hand.
type WeightTaken struct {
	Animal string   `json:"animal" ref:"animal"`
	Mass   Quantity `json:"mass" unit:"kg,g,[lb_av]" min:"0.5" max:"4500" doc:"the mass as read off the scale"`
	Scale  string   `json:"scale,omitempty" format:"code" doc:"the id of the scale"`
	Coat   string   `json:"coat,omitempty" enum:"dry,wet" doc:"whether the coat was wet"`
	Method string   `json:"method,omitempty" enum:"voluntary,crate,sling,carried,estimated" doc:"how it came to be weighed"`
	Text   string   `json:"text,omitempty" len:"4000"`
}

// ConditionScored is a score on a named scale; scores on different scales are
// never compared.
type ConditionScored struct {
	Animal string   `json:"animal" ref:"animal"`
	Scale  string   `json:"scale" doc:"the name of the scale"`
	Least  Quantity `json:"least" unit:"1" doc:"the least score of the scale"`
	Most   Quantity `json:"most" unit:"1" doc:"the greatest score of the scale"`
	Score  Quantity `json:"score" unit:"1" doc:"the score given"`
	Text   string   `json:"text,omitempty" len:"4000"`
}

func (c *ConditionScored) check(out *Problems) {
	least, most, score := c.Least.Float("1"), c.Most.Float("1"), c.Score.Float("1")
	if least >= most || score < least || score > most {
		out.add("data.score", "is %s on a scale from %s to %s", c.Score.Value, c.Least.Value, c.Most.Value)
	}
}

// LengthMeasured is a body length.
type LengthMeasured struct {
	Animal string   `json:"animal" ref:"animal"`
	Length Quantity `json:"length" unit:"cm,m,mm" min:"20" max:"700" doc:"the length as read"`
	Kind   string   `json:"kind" enum:"standard,curved,flipper" doc:"standard is nose to tail in a straight line"`
	Text   string   `json:"text,omitempty" len:"4000"`
}

// GirthMeasured is a girth at one place of the body.
type GirthMeasured struct {
	Animal string   `json:"animal" ref:"animal"`
	Girth  Quantity `json:"girth" unit:"cm,m,mm" min:"10" max:"600" doc:"the girth as read"`
	Where  string   `json:"where" enum:"axillary,maximum,neck,hip" doc:"where it was measured"`
	Text   string   `json:"text,omitempty" len:"4000"`
}

// CoatScored says how much of the coat is new: as a stage from 0 (none) to 5
// (all), as a percentage, or both. The stages are this project's own: 0 none,
// 1 up to 10 %, 2 up to 50 %, 3 up to 90 %, 4 below 100 %, 5 all new.
type CoatScored struct {
	Animal  string   `json:"animal" ref:"animal"`
	Stage   string   `json:"stage,omitempty" enum:"0,1,2,3,4,5" doc:"the stage, 0 none to 5 all new"`
	NewCoat Quantity `json:"new_coat,omitzero" unit:"%" min:"0" max:"100" doc:"the share of new coat"`
	Regions []string `json:"regions,omitempty" enum:"flippers,belly,sides,back,head,neck" doc:"where new coat shows"`
	Text    string   `json:"text,omitempty" len:"4000"`
}

func (c *CoatScored) check(out *Problems) {
	if c.Stage == "" && c.NewCoat.IsZero() {
		out.add("data.stage", "is missing; give a stage from 0 to 5, or new_coat in per cent")
	}
}

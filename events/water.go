package events

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

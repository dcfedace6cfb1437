package events

import "slices"

// FacilityOpened is the first record of a facility's log: who it is and the
// zone that its days are counted in.
type FacilityOpened struct {
	Name string `json:"name" doc:"what people call the facility"`
	Zone string `json:"zone" format:"zone" doc:"the IANA time zone of its days, such as Europe/Dublin"`
	Text string `json:"text,omitempty" len:"4000"`
}

// EnclosureDescribed says what a pool, pen or beach is. Describing it again
// replaces what was said before.
type EnclosureDescribed struct {
	Enclosure  string   `json:"enclosure" new:"enclosure" doc:"the id of the enclosure"`
	Name       string   `json:"name" name:"" doc:"what people call the enclosure"`
	Use        string   `json:"use,omitempty" enum:"display,holding,isolation,training,transport"`
	WaterArea  Quantity `json:"water_area,omitzero" unit:"m2" min:"0" max:"100000"`
	WaterDepth Quantity `json:"water_depth,omitzero" unit:"m,cm" min:"0" max:"100"`
	Width      Quantity `json:"width,omitzero" unit:"m,cm" min:"0" max:"1000" doc:"the least horizontal width of the pool"`
	Across     Quantity `json:"across,omitzero" unit:"m,cm" min:"0" max:"1000" doc:"the horizontal dimension of the pool at a right angle to its least width"`
	DryArea    Quantity `json:"dry_area,omitzero" unit:"m2" min:"0" max:"100000"`
	Volume     Quantity `json:"volume,omitzero" unit:"m3,L" min:"0" max:"1000000"`
	Salt       string   `json:"salt,omitempty" enum:"sea,made,fresh" doc:"where its salt comes from"`
	Added      []string `json:"added,omitempty" enum:"none,free_chlorine,total_chlorine,ozone" doc:"what is added to its water, as tests name it; none where nothing is"`
	Text       string   `json:"text,omitempty" len:"4000"`
}

func (e *EnclosureDescribed) check(out *Problems) {
	if len(e.Added) > 1 && slices.Contains(e.Added, "none") {
		out.add("data.added", "is none and more; name what is added, or none alone")
	}
}

package events

// EncounterSeen is a meeting of two animals. The winner is the one that did
// not yield; in a draw neither did, and the order of the two says nothing.
type EncounterSeen struct {
	Winner    string `json:"winner" ref:"animal"`
	Loser     string `json:"loser" ref:"animal"`
	Draw      bool   `json:"draw,omitempty" doc:"neither yielded, or nobody could tell"`
	Signal    string `json:"signal,omitempty" enum:"displaced,threat,lunge,bite,chase,vocal,supplant,other" doc:"what the winner did"`
	Intensity string `json:"intensity,omitempty" enum:"low,medium,high"`
	Place     string `json:"place,omitempty" enum:"deck,gate,food,pool"`
	Cause     string `json:"cause,omitempty" enum:"keeper,gate,coalition" doc:"set when people or a third animal brought it about"`
	Enclosure string `json:"enclosure,omitempty" ref:"enclosure"`
	Watch     string `json:"watch,omitempty" ref:"watch"`
	Injury    bool   `json:"injury,omitempty"`
	Text      string `json:"text,omitempty" len:"4000"`
}

func (e *EncounterSeen) check(out *Problems) {
	if e.Winner == e.Loser {
		out.add("data.loser", "is the same animal as the winner; an encounter has two")
	}
}

// WatchHeld is a period in which somebody watched on purpose, so that rates
// have a known effort. Its time is its start.
type WatchHeld struct {
	Watch     string   `json:"watch" new:"watch" doc:"the id of the watch"`
	Enclosure string   `json:"enclosure" ref:"enclosure"`
	Until     string   `json:"until" format:"instant" doc:"when the watch ended"`
	Method    string   `json:"method" enum:"all_occurrences,focal,scan,ad_libitum" doc:"the sampling method"`
	Observer  string   `json:"observer,omitempty"`
	Animals   []string `json:"animals" ref:"animal" doc:"the animals in view"`
	Text      string   `json:"text,omitempty" len:"4000"`
}

// Group is a set of animals seen together.
type Group struct {
	Animals []string `json:"animals" ref:"animal" doc:"the animals that were together"`
}

// CompanyScanned is one look at who is beside whom.
type CompanyScanned struct {
	Enclosure string  `json:"enclosure" ref:"enclosure"`
	Groups    []Group `json:"groups" doc:"who was together; an animal alone is a group of one"`
	Watch     string  `json:"watch,omitempty" ref:"watch"`
	Rule      string  `json:"rule,omitempty" doc:"what counted as together, such as within one body length"`
}

func (c *CompanyScanned) check(out *Problems) {
	seen := map[string]bool{}
	for i, group := range c.Groups {
		for _, animal := range group.Animals {
			if seen[animal] {
				out.add(indexed("data.groups", i), "names %s twice; an animal is in one group at a time", animal)
			}
			seen[animal] = true
		}
	}
}

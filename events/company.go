package events

// EncounterSeen is a meeting of two animals. The winner is the one that did
// not yield; in a draw neither did, and the order of the two says nothing.
type EncounterSeen struct {
	Winner    string `json:"winner" ref:"animal"`
	Loser     string `json:"loser" ref:"animal"`
	Draw      bool   `json:"draw,omitempty" doc:"neither yielded, or nobody could tell; a threat or call without an answer made nobody yield"`
	Signal    string `json:"signal,omitempty" enum:"displaced,threat,lunge,bite,chase,vocal,supplant,other" doc:"what the winner did"`
	Intensity string `json:"intensity,omitempty" enum:"low,medium,high"`
	Place     string `json:"place,omitempty" enum:"deck,gate,food,pool"`
	Cause     string `json:"cause,omitempty" enum:"keeper,gate,coalition" doc:"set when people or a third animal brought it about"`
	Enclosure string `json:"enclosure,omitempty" ref:"enclosure" doc:"where both live; without one it stands in both files and counts in no order"`
	Watch     string `json:"watch,omitempty" ref:"watch"`
	Injury    bool   `json:"injury,omitempty"`
	Text      string `json:"text,omitempty" len:"4000"`
}

func (e *EncounterSeen) check(out *Problems) {
	if e.Winner == e.Loser {
		out.add("data.loser", "is the same animal as the winner; an encounter has two")
	}
}

func (e *EncounterSeen) residents() (string, []resident) {
	return e.Enclosure, []resident{{"winner", e.Winner}, {"loser", e.Loser}}
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
	Counts    []Tally  `json:"counts,omitempty" doc:"what was counted without telling who, beside the encounters that name the watch"`
	Text      string   `json:"text,omitempty" len:"4000"`
}

// Tally is how often a signal was counted in a watch.
type Tally struct {
	Signal string `json:"signal" enum:"displaced,threat,lunge,bite,chase,vocal,supplant,other"`
	Count  int    `json:"count" min:"1" max:"10000"`
}

func (w *WatchHeld) check(out *Problems) {
	seen := map[string]bool{}
	for i, tally := range w.Counts {
		if seen[tally.Signal] {
			out.add(indexed("data.counts", i), "counts %s twice; give one number for each signal", tally.Signal)
		}
		seen[tally.Signal] = true
	}
}

func (w *WatchHeld) residents() (enclosure string, list []resident) {
	for i, animal := range w.Animals {
		list = append(list, resident{indexed("animals", i), animal})
	}
	return w.Enclosure, list
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

func (c *CompanyScanned) residents() (enclosure string, list []resident) {
	for i, group := range c.Groups {
		for j, animal := range group.Animals {
			list = append(list, resident{indexed(indexed("groups", i)+".animals", j), animal})
		}
	}
	return c.Enclosure, list
}

// CompanyJudged is what the people responsible decided about two animals that
// might live together. It holds until it is judged anew.
type CompanyJudged struct {
	Animals []string `json:"animals" ref:"animal" doc:"the two animals"`
	Verdict string   `json:"verdict" enum:"apart,watched,together" doc:"kept apart, together only while somebody watches, or free to live together"`
	Reason  string   `json:"reason" len:"1000" doc:"why, and who decided it"`
}

func (c *CompanyJudged) check(out *Problems) {
	if len(c.Animals) != 2 || c.Animals[0] == c.Animals[1] {
		out.add("data.animals", "are to be two different ones, those that were judged together; it names %d", len(c.Animals))
	}
}

// PeriodBegun says that the company of an enclosure is to be looked at anew
// from its time on: what was seen before no longer tells who stands where.
type PeriodBegun struct {
	Enclosure string `json:"enclosure" ref:"enclosure"`
	Reason    string `json:"reason" enum:"introduction,separation,season,other" doc:"what changed"`
	Text      string `json:"text,omitempty" len:"1000"`
}

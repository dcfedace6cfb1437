package events

// EnrichmentOffered is something given for an animal to explore or play with.
type EnrichmentOffered struct {
	Animals []string `json:"animals" ref:"animal" doc:"the animals it was offered to"`
	Item    string   `json:"item" doc:"what was offered"`
	Sort    string   `json:"sort,omitempty" enum:"food,object,social,sensory,space,puzzle"`
	Until   string   `json:"until,omitempty" format:"instant" doc:"when it was taken away"`
	Use     string   `json:"use,omitempty" enum:"ignored,brief,long,destroyed" doc:"what they did with it"`
	Text    string   `json:"text,omitempty" len:"4000"`
}

// ChoiceMade is one choice among things offered at the same time.
type ChoiceMade struct {
	Animal  string   `json:"animal" ref:"animal"`
	Offered []string `json:"offered" doc:"everything that was offered, from left to right"`
	Chosen  string   `json:"chosen,omitempty" doc:"what was taken first; left out when nothing was"`
	Series  string   `json:"series,omitempty" format:"code" doc:"the test that this choice belongs to"`
}

func (c *ChoiceMade) check(out *Problems) {
	if c.Chosen == "" {
		return
	}
	for _, item := range c.Offered {
		if item == c.Chosen {
			return
		}
	}
	out.add("data.chosen", "is %q, which was not among what was offered", c.Chosen)
}

// TouchNoted says how an animal takes being touched at one place.
type TouchNoted struct {
	Animal string `json:"animal" ref:"animal"`
	Region string `json:"region" enum:"head,muzzle,whiskers,eyes,ears,mouth,neck,chest,belly,back,sides,fore_flippers,hind_flippers,tail" doc:"where it was touched"`
	Answer string `json:"answer" enum:"seeks,accepts,tolerates,avoids,threatens" doc:"how it took it"`
	With   string `json:"with,omitempty" doc:"hand, brush, instrument"`
	Text   string `json:"text,omitempty" len:"4000"`
}

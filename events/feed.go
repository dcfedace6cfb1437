package events

// RationItem is a day's planned mass of one food.
type RationItem struct {
	Food string   `json:"food" ref:"food"`
	Mass Quantity `json:"mass" unit:"kg,g,[lb_av]" min:"0" max:"150" doc:"the mass for a day"`
}

// RationSet is what a lead keeper decided that an animal is to get each day,
// from this time on.
type RationSet struct {
	Animal string       `json:"animal" ref:"animal"`
	Items  []RationItem `json:"items" doc:"the foods of a day"`
	Reason string       `json:"reason,omitempty" len:"1000"`
}

// FeedItem is one food in one feed. What was offered and not eaten was refused.
type FeedItem struct {
	Food    string   `json:"food" ref:"food"`
	Lot     string   `json:"lot,omitempty" ref:"lot"`
	Offered Quantity `json:"offered" unit:"kg,g,[lb_av]" min:"0" max:"150" doc:"the mass offered"`
	Eaten   Quantity `json:"eaten" unit:"kg,g,[lb_av]" min:"0" max:"150" doc:"the mass eaten"`
}

// FeedGiven is one feed of one animal.
type FeedGiven struct {
	Animal  string     `json:"animal" ref:"animal"`
	Items   []FeedItem `json:"items" doc:"the foods of this feed"`
	How     string     `json:"how,omitempty" enum:"hand,scatter,bucket,device,training" doc:"how it was given"`
	Session string     `json:"session,omitempty" ref:"session"`
	Text    string     `json:"text,omitempty" len:"4000"`
}

func (f *FeedGiven) check(out *Problems) {
	for i, item := range f.Items {
		if item.Eaten.Milligrams() > item.Offered.Milligrams() {
			out.add(indexed("data.items", i)+".eaten", "is %s, more than the %s offered", item.Eaten, item.Offered)
		}
	}
}

// SupplementGiven is a vitamin, salt or other supplement.
type SupplementGiven struct {
	Animal     string   `json:"animal" ref:"animal"`
	Supplement string   `json:"supplement" doc:"what was given"`
	Dose       Quantity `json:"dose" unit:"mg,g,ug,mL,[iU],{tablet}" min:"0" max:"10000000" doc:"how much was given"`
	Basis      string   `json:"basis,omitempty" doc:"what the dose was worked out from"`
	Text       string   `json:"text,omitempty" len:"4000"`
}

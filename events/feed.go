package events

import "fmt"

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
	Times  []string     `json:"times,omitempty" format:"clock" doc:"when it is fed, by the clock of the facility, such as 08:30; the day's mass is shared among them"`
	Reason string       `json:"reason,omitempty" len:"1000"`
}

func (r *RationSet) check(out *Problems) {
	if err := CheckTimes(r.Times); err != nil {
		out.add("data.times", "%v", err)
	}
}

// CheckTimes says what is wrong with the times of a day's feeds.
func CheckTimes(times []string) error {
	for i, at := range times {
		if err := checkClock(at); err != nil {
			return fmt.Errorf("%q: %w", at, err)
		}
		if i > 0 && at <= times[i-1] {
			return fmt.Errorf("%s is not after %s; list the feeds in the order of the day", at, times[i-1])
		}
	}
	return nil
}

// GuidedItem bounds the share of one food in a day's mass.
type GuidedItem struct {
	Food  string   `json:"food" ref:"food"`
	Least Quantity `json:"least,omitzero" unit:"%" min:"0" max:"100" doc:"the least share of the day's mass"`
	Most  Quantity `json:"most,omitzero" unit:"%" min:"0" max:"100" doc:"the greatest share of the day's mass"`
}

// DietGuided says which foods an animal may be given, and in what shares, in
// some months or all year: what a lead keeper, nutritionist and veterinarian
// agreed on. Rations are proposed within it.
type DietGuided struct {
	Animal string       `json:"animal" ref:"animal"`
	Items  []GuidedItem `json:"items" doc:"the foods that may be given; others are not proposed"`
	Months []string     `json:"months,omitempty" enum:"01,02,03,04,05,06,07,08,09,10,11,12" doc:"the months it holds in; all year where it is left out"`
	Reason string       `json:"reason,omitempty" len:"1000"`
}

func (d *DietGuided) check(out *Problems) {
	least, most := 0.0, 0.0
	for i, item := range d.Items {
		from, to := item.Least.Float("%"), 100.0
		if !item.Most.IsZero() {
			to = item.Most.Float("%")
		}
		if from > to {
			out.add(indexed("data.items", i)+".least", "is %s, more than the most, %s", item.Least, item.Most)
		}
		least, most = least+from, most+to
	}
	if least > 100 {
		out.add("data.items", "ask for %.4g %% of the day at the least; 100 %% is all there is", least)
	}
	if most < 100 {
		out.add("data.items", "allow %.4g %% of the day at the most, so no ration can be made; raise a share or add a food", most)
	}
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

// Content is what one unit of a supplement holds of one nutrient.
type Content struct {
	What   string   `json:"what" enum:"thiamine,vitamin_e,vitamin_a,vitamin_c,vitamin_d,salt,iron,calcium" doc:"the nutrient"`
	Amount Quantity `json:"amount" unit:"mg,ug,g,[iU]" min:"0" max:"10000000" doc:"how much of it"`
}

// SupplementDescribed says what a supplement holds, as its label says.
type SupplementDescribed struct {
	Supplement string    `json:"supplement" new:"supplement" doc:"the id of the supplement"`
	Name       string    `json:"name" name:"" doc:"what keepers call it; doses given are found by it"`
	Per        string    `json:"per" enum:"{tablet},mL,g" doc:"the unit that the contents are of"`
	Contents   []Content `json:"contents" doc:"what one such unit holds"`
	Source     string    `json:"source" len:"1000" doc:"where the figures come from, such as the label"`
}

// SupplementGiven is a vitamin, salt or other supplement.
type SupplementGiven struct {
	Animal     string   `json:"animal" ref:"animal"`
	Supplement string   `json:"supplement" doc:"what was given"`
	Dose       Quantity `json:"dose" unit:"mg,g,ug,mL,[iU],{tablet}" min:"0" max:"10000000" doc:"how much was given"`
	Basis      string   `json:"basis,omitempty" doc:"what the dose was worked out from"`
	Text       string   `json:"text,omitempty" len:"4000"`
}

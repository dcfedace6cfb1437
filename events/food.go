package events

// Composition is what 100 g of a food hold, as fed.
type Composition struct {
	Water        Quantity `json:"water,omitzero" unit:"g" min:"0" max:"100"`
	Protein      Quantity `json:"protein,omitzero" unit:"g" min:"0" max:"100"`
	Fat          Quantity `json:"fat,omitzero" unit:"g" min:"0" max:"100"`
	Ash          Quantity `json:"ash,omitzero" unit:"g" min:"0" max:"100"`
	Carbohydrate Quantity `json:"carbohydrate,omitzero" unit:"g" min:"0" max:"100"`
}

// Parts lists the five parts in grams, 0 where one was not stated.
func (c Composition) Parts() (water, protein, fat, ash, carbohydrate float64) {
	return c.Water.Float("g"), c.Protein.Float("g"), c.Fat.Float("g"), c.Ash.Float("g"), c.Carbohydrate.Float("g")
}

// checkSum refuses a full analysis that can't be one. Published tables run from
// 97.4 to 104.2 g in 100 g (USDA SR, Atlantic mackerel and Pacific herring), so
// 95 to 105 is taken.
func (c Composition) checkSum(out *Problems) {
	if c.Water.IsZero() || c.Protein.IsZero() || c.Fat.IsZero() {
		return
	}
	w, p, f, a, h := c.Parts()
	if sum := w + p + f + a + h; sum > 105 || (sum < 95 && !c.Ash.IsZero()) {
		out.add("data.composition", "sums to %.1f g in 100 g, and an analysis sums to between 95 and 105; check each part and the place of its decimal point", sum)
	}
}

// FoodDescribed says what a food holds. Describing it again replaces the
// figures from this time on.
type FoodDescribed struct {
	Food        string      `json:"food" new:"food" doc:"the id of the food"`
	Name        string      `json:"name" name:"" doc:"what keepers call the food"`
	Taxon       string      `json:"taxon,omitempty"`
	Form        string      `json:"form,omitempty" enum:"fish,shellfish,cephalopod,other" doc:"decides the specific energy factors"`
	Composition Composition `json:"composition,omitzero" doc:"grams in 100 g as fed"`
	Energy      Quantity    `json:"energy,omitzero" unit:"kcal,kJ" min:"0" max:"950" doc:"energy of 100 g where the source states it"`
	Basis       string      `json:"basis,omitempty" enum:"gross,digestible,metabolizable_atwater" doc:"what the stated energy counts"`
	Factors     string      `json:"factors,omitempty" enum:"specific,general" doc:"Atwater factors for energy worked out from composition"`
	Portion     Quantity    `json:"portion,omitzero" unit:"g,kg,[oz_av]" min:"1" max:"10000" doc:"what one portion weighs, such as one fish; rations are cut in whole ones"`
	Source      string      `json:"source" len:"1000" doc:"where the figures come from"`
}

func (f *FoodDescribed) check(out *Problems) {
	f.Composition.checkSum(out)
	if !f.Energy.IsZero() && f.Basis == "" {
		out.add("data.basis", "is missing; say what the stated energy counts: gross, digestible or metabolizable_atwater")
	}
}

// LotReceived is one delivery of one food.
type LotReceived struct {
	Lot      string   `json:"lot" new:"lot" doc:"the id of the lot, as on the box"`
	Food     string   `json:"food" ref:"food"`
	Mass     Quantity `json:"mass" unit:"kg,g,[lb_av]" min:"0.001" max:"100000" doc:"the mass received"`
	Caught   string   `json:"caught,omitempty" format:"edtf" doc:"when it was caught (EDTF level 1)"`
	Supplier string   `json:"supplier,omitempty"`
	UseBy    string   `json:"use_by,omitempty" format:"date"`
	Store    string   `json:"store,omitempty" doc:"the freezer it lies in"`
	Cost     Quantity `json:"cost,omitzero" unit:"1" min:"0" max:"1000000" doc:"what one kilogram costs, in the money of the house"`
	Text     string   `json:"text,omitempty" len:"4000"`
}

// LotAssayed is a laboratory's analysis of a lot.
type LotAssayed struct {
	Lot         string      `json:"lot" ref:"lot"`
	Composition Composition `json:"composition" doc:"grams in 100 g as fed"`
	Energy      Quantity    `json:"energy,omitzero" unit:"kcal,kJ" min:"0" max:"950" doc:"energy of 100 g where the laboratory states it"`
	Basis       string      `json:"basis,omitempty" enum:"gross,digestible,metabolizable_atwater"`
	Sampled     string      `json:"sampled,omitempty" format:"date"`
	Laboratory  string      `json:"laboratory,omitempty"`
	Text        string      `json:"text,omitempty" len:"4000"`
}

func (l *LotAssayed) check(out *Problems) { l.Composition.checkSum(out) }

// LotThawed starts the thaw clock of part of a lot.
type LotThawed struct {
	Lot      string   `json:"lot" ref:"lot"`
	Mass     Quantity `json:"mass" unit:"kg,g,[lb_av]" min:"0.001" max:"10000" doc:"the mass taken out of the freezer"`
	How      string   `json:"how" enum:"refrigerated,room,water" doc:"where it thaws"`
	Complete string   `json:"complete,omitempty" format:"instant" doc:"when it was seen to be thawed through"`
}

// ThawCompleted says that what was taken out of the freezer has been seen to be
// thawed through, which starts the shorter of its two clocks.
type ThawCompleted struct {
	Lot  string `json:"lot" ref:"lot"`
	Thaw string `json:"thaw,omitempty" ref:"entry" doc:"the id of the entry that took it out; the lot's last one where it is left out"`
	Text string `json:"text,omitempty" len:"4000"`
}

// LotDiscarded takes part of a lot out of use.
type LotDiscarded struct {
	Lot    string   `json:"lot" ref:"lot"`
	Mass   Quantity `json:"mass" unit:"kg,g,[lb_av]" min:"0.001" max:"100000" doc:"the mass discarded"`
	Thawed bool     `json:"thawed,omitempty" doc:"set when it had been taken out of the freezer, so that the stock of frozen fish is not counted down twice"`
	Reason string   `json:"reason" len:"1000" doc:"why it was discarded"`
}

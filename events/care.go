package events

// Finding is what was seen at one region of the body.
type Finding struct {
	Region string `json:"region" enum:"eyes,ears,mouth,whiskers,skin,flippers,belly,breathing,stool,behaviour,other" doc:"where it was seen"`
	Word   string `json:"word" len:"1000" doc:"what was seen, in plain words"`
	Urgent bool   `json:"urgent,omitempty" doc:"the veterinarian is to be told now"`
	Photo  string `json:"photo,omitempty" format:"digest" doc:"the SHA-256 of a picture that was handed in"`
}

// CheckMade is the daily look at an animal. Every region that was looked at
// and is not among the findings looked fine to the keeper.
type CheckMade struct {
	Animal   string    `json:"animal" ref:"animal"`
	Regions  []string  `json:"regions,omitempty" enum:"eyes,ears,mouth,whiskers,skin,flippers,belly,breathing,stool,behaviour,other" doc:"what was looked at; all regions when left out"`
	Findings []Finding `json:"findings,omitempty"`
	Text     string    `json:"text,omitempty" len:"4000"`
}

// FindingClosed says that what was found at a region in a check needs nobody any
// more. A finding stays open until somebody closes it.
type FindingClosed struct {
	Animal  string `json:"animal" ref:"animal"`
	Check   string `json:"check" ref:"entry" doc:"the entry of the check that found it"`
	Region  string `json:"region" enum:"eyes,ears,mouth,whiskers,skin,flippers,belly,breathing,stool,behaviour,other" doc:"where it was seen"`
	Outcome string `json:"outcome" enum:"healed,veterinarian_saw,harmless,mistaken" doc:"why it is closed"`
	Text    string `json:"text,omitempty" len:"4000"`
}

// OrderGiven is what the veterinarian ordered for an animal. Giving it again
// under the same id replaces what was ordered before.
type OrderGiven struct {
	Order        string   `json:"order" new:"order" doc:"the id of the order"`
	Animal       string   `json:"animal" ref:"animal"`
	Veterinarian string   `json:"veterinarian" doc:"who signs the order"`
	Medication   string   `json:"medication" doc:"what is to be given"`
	Dose         Quantity `json:"dose" unit:"mg,g,ug,mL,[iU],{tablet}" min:"0" max:"10000000" doc:"how much at a time"`
	Route        string   `json:"route,omitempty" enum:"mouth,injection,skin,eye,ear,inhaled"`
	Daily        int      `json:"daily,omitempty" min:"1" max:"24" doc:"doses a day; a single dose when left out"`
	Until        string   `json:"until,omitempty" format:"instant" doc:"the last moment at which a dose is due; open when left out"`
	Text         string   `json:"text,omitempty" len:"4000"`
}

// OrderEnded takes an order out of force.
type OrderEnded struct {
	Order  string `json:"order" ref:"order"`
	Animal string `json:"animal" ref:"animal"`
	Reason string `json:"reason" len:"1000" doc:"why, and who decided it"`
}

// VeterinaryNoted is the veterinarian's own note. The program stores it and
// draws nothing from it.
type VeterinaryNoted struct {
	Animal       string `json:"animal" ref:"animal"`
	Veterinarian string `json:"veterinarian" doc:"who signs the note"`
	Text         string `json:"text" len:"20000" doc:"the note"`
	Order        string `json:"order,omitempty" format:"code" doc:"the id of an order that this note gives or changes"`
}

// MedicationGiven is a dose given as ordered by the veterinarian.
type MedicationGiven struct {
	Animal     string   `json:"animal" ref:"animal"`
	Medication string   `json:"medication" doc:"what was given"`
	Dose       Quantity `json:"dose" unit:"mg,g,ug,mL,[iU],{tablet}" min:"0" max:"10000000" doc:"how much was given"`
	Route      string   `json:"route,omitempty" enum:"mouth,injection,skin,eye,ear,inhaled"`
	Order      string   `json:"order,omitempty" format:"code" doc:"the veterinarian's order"`
	Taken      string   `json:"taken,omitempty" enum:"all,part,none"`
	Text       string   `json:"text,omitempty" len:"4000"`
}

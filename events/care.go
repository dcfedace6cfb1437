package events

// Finding is what was seen at one region of the body.
type Finding struct {
	Region string `json:"region" enum:"eyes,ears,mouth,whiskers,skin,flippers,belly,breathing,stool,behaviour,other" doc:"where it was seen"`
	Word   string `json:"word" len:"1000" doc:"what was seen, in plain words"`
	Urgent bool   `json:"urgent,omitempty" doc:"the veterinarian is to be told now"`
}

// CheckMade is the daily look at an animal. Every region that was looked at
// and is not among the findings looked fine to the keeper.
type CheckMade struct {
	Animal   string    `json:"animal" ref:"animal"`
	Regions  []string  `json:"regions,omitempty" enum:"eyes,ears,mouth,whiskers,skin,flippers,belly,breathing,stool,behaviour,other" doc:"what was looked at; all regions when left out"`
	Findings []Finding `json:"findings,omitempty"`
	Text     string    `json:"text,omitempty" len:"4000"`
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

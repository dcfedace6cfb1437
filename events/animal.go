package events

// AnimalEntered brings an animal into a facility's care.
type AnimalEntered struct {
	Animal string `json:"animal" new:"animal" doc:"the id of the animal, the same wherever it lives"`
	Name   string `json:"name" name:"" doc:"the name keepers use"`
	Taxon  string `json:"taxon" doc:"the scientific name, such as Zalophus californianus"`
	Sex    string `json:"sex" enum:"female,male,unknown"`
	Born   string `json:"born,omitempty" format:"edtf" doc:"birth as precisely as it is known (EDTF level 1)"`
	How    string `json:"how" enum:"birth,rescue,arrival,loan"`
	From   string `json:"from,omitempty" doc:"where it came from"`
	Dam    string `json:"dam,omitempty" format:"code" doc:"the id of its mother"`
	Sire   string `json:"sire,omitempty" format:"code" doc:"the id of its father"`
	Tape   int    `json:"tape,omitempty" min:"0" max:"8" doc:"its bucket tape pattern, 1 to 8"`
	Text   string `json:"text,omitempty" len:"4000"`
}

// AnimalIdentified records a mark that tells one animal from another.
type AnimalIdentified struct {
	Animal string `json:"animal" ref:"animal"`
	Scheme string `json:"scheme" enum:"iso11784,transponder,tag,brand,scar,pattern,photo" doc:"what sort of mark; iso11784 for a 15-digit code, transponder for older ones"`
	Code   string `json:"code" doc:"what the mark says, as read"`
	Where  string `json:"where,omitempty" doc:"where on the body"`
	Reader string `json:"reader,omitempty" doc:"the device that read it"`
	Text   string `json:"text,omitempty" len:"4000"`
}

func (a *AnimalIdentified) check(out *Problems) {
	if a.Scheme != "iso11784" {
		return
	}
	if err := checkTransponder(a.Code); err != nil {
		out.add("data.code", "is %q; %v", a.Code, err)
	}
}

// AnimalPlaced says where an animal lives from this time on.
type AnimalPlaced struct {
	Animal    string `json:"animal" ref:"animal"`
	Enclosure string `json:"enclosure" ref:"enclosure"`
	Reason    string `json:"reason,omitempty" len:"1000"`
}

// AnimalLeft ends a facility's care of an animal.
type AnimalLeft struct {
	Animal string `json:"animal" ref:"animal"`
	How    string `json:"how" enum:"death,release,move"`
	To     string `json:"to,omitempty" doc:"where it went"`
	Cause  string `json:"cause,omitempty" len:"1000" doc:"cause of death where the veterinarian has determined it"`
	Text   string `json:"text,omitempty" len:"4000"`
}

func (a *AnimalLeft) check(out *Problems) {
	if a.How == "move" && a.To == "" {
		out.add("data.to", "is missing; say where the animal moved to")
	}
}

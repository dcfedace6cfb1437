package events

// Note is anything else worth keeping, about some animals, an enclosure, or
// the facility as a whole.
type Note struct {
	Text      string   `json:"text" len:"20000" doc:"what is worth keeping"`
	Animals   []string `json:"animals,omitempty" ref:"animal"`
	Enclosure string   `json:"enclosure,omitempty" ref:"enclosure"`
}

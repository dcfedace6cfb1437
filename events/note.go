package events

// Note is anything else worth keeping, about some animals, an enclosure, or
// the facility as a whole.
type Note struct {
	Text      string   `json:"text" len:"20000" doc:"what is worth keeping"`
	Animals   []string `json:"animals,omitempty" ref:"animal"`
	Enclosure string   `json:"enclosure,omitempty" ref:"enclosure"`
}

// CallAnswered is what somebody does about a line of Today: takes it on, puts it
// off until a moment, or says why it needs nobody. The line itself is worked out
// from the record and goes when its cause goes.
type CallAnswered struct {
	Call   string `json:"call" new:"call" doc:"the id of the line"`
	Answer string `json:"answer" enum:"taken,put_off,needless" doc:"taken on, put off, or in no need of anybody"`
	Until  string `json:"until,omitempty" format:"instant" doc:"until when it is put off"`
	Reason string `json:"reason,omitempty" len:"1000" doc:"why it is put off or needs nobody"`
}

func (c *CallAnswered) check(out *Problems) {
	if (c.Answer == "put_off") != (c.Until != "") {
		out.add("data.until", "goes with put_off, and put_off with it; give both or neither")
	}
	if c.Answer != "taken" && c.Reason == "" {
		out.add("data.reason", "is missing; say why it is put off or needs nobody")
	}
}

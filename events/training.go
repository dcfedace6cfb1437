package events

// Step is one step of a shaping plan, with what counts as met.
type Step struct {
	Step      string   `json:"step" doc:"what the animal does at this step"`
	Met       int      `json:"met,omitempty" min:"0" max:"1000" doc:"how many trials must be met"`
	Of        int      `json:"of,omitempty" min:"0" max:"1000" doc:"out of how many"`
	Sessions  int      `json:"sessions,omitempty" min:"0" max:"100" doc:"in how many sessions running"`
	Hold      Quantity `json:"hold,omitzero" unit:"s,min" min:"0" max:"86400" doc:"how long it is held"`
	Criterion string   `json:"criterion,omitempty" len:"1000" doc:"the criterion in observable terms"`
}

// BehaviourPlanned starts or changes the plan by which one animal learns one
// behaviour.
type BehaviourPlanned struct {
	Behaviour string `json:"behaviour" new:"behaviour" doc:"the id of this animal's behaviour"`
	Animal    string `json:"animal" ref:"animal"`
	Name      string `json:"name" doc:"what trainers call the behaviour"`
	Purpose   string `json:"purpose" enum:"care,handling,gate,fitness,display,study" doc:"what it is for"`
	Cue       string `json:"cue,omitempty" len:"1000" doc:"the signal, in words"`
	Steps     []Step `json:"steps" doc:"the steps in order"`
	Text      string `json:"text,omitempty" len:"4000"`
}

// SessionHeld is one training session with one animal. Its time is its start.
type SessionHeld struct {
	Session string `json:"session" new:"session" doc:"the id of the session"`
	Animal  string `json:"animal" ref:"animal"`
	Until   string `json:"until,omitempty" format:"instant" doc:"when it ended"`
	Came    string `json:"came" enum:"at_once,late,refused" doc:"how the animal came"`
	Left    int    `json:"left,omitempty" min:"0" max:"100" doc:"how often it left"`
	Trainer string `json:"trainer,omitempty"`
	Text    string `json:"text,omitempty" len:"4000"`
}

// TrialScored is one try at one step.
type TrialScored struct {
	Behaviour string   `json:"behaviour" ref:"behaviour"`
	Animal    string   `json:"animal" ref:"animal"`
	Step      int      `json:"step" min:"1" max:"200" doc:"the number of the step"`
	Outcome   string   `json:"outcome" enum:"met,missed,no_try,swam_off,stopped" doc:"what came of it; stopped is the trainer's choice"`
	Latency   Quantity `json:"latency,omitzero" unit:"s,ms,min" min:"0" max:"3600"`
	Held      Quantity `json:"held,omitzero" unit:"s,min" min:"0" max:"86400"`
	Reward    string   `json:"reward,omitempty" doc:"what it was given"`
	Session   string   `json:"session,omitempty" ref:"session"`
	Trainer   string   `json:"trainer,omitempty"`
	Text      string   `json:"text,omitempty" len:"4000"`
}

// BehaviourApproved says that a behaviour is reliable enough to be used.
type BehaviourApproved struct {
	Behaviour string `json:"behaviour" ref:"behaviour"`
	Animal    string `json:"animal" ref:"animal"`
	Text      string `json:"text,omitempty" len:"4000"`
}

// BehaviourDropped ends a plan before its end.
type BehaviourDropped struct {
	Behaviour string `json:"behaviour" ref:"behaviour"`
	Animal    string `json:"animal" ref:"animal"`
	Reason    string `json:"reason" len:"1000" doc:"why it was dropped"`
}

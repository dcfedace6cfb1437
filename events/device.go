package events

// DeviceReported is what the device that records it says of the entries that it
// holds and could not hand over. It says so when their number changes, so that
// one that falls silent with entries is missed.
type DeviceReported struct {
	Waiting int    `json:"waiting,omitempty" min:"0" max:"1000000" doc:"how many entries it holds that are not on record; none where it is left out"`
	Oldest  string `json:"oldest,omitempty" format:"instant" doc:"when the oldest of them happened; left out where there is none"`
}

func (d *DeviceReported) check(out *Problems) {
	switch {
	case d.Waiting == 0 && d.Oldest != "":
		out.add("data.waiting", "is 0, and oldest names an entry that waits; give how many wait")
	case d.Waiting > 0 && d.Oldest == "":
		out.add("data.oldest", "is missing; say when the oldest entry that waits happened")
	}
}

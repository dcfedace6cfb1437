package rules

// Limit is one side of what is allowed of something that is measured.
type Limit struct {
	Setting
	Least bool `json:"least"`              // it is the least that is allowed, and not the most
	Doubt bool `json:"in_doubt,omitempty"` // it may not hold for the animals of this water
}

// Limits are those in force for what is measured, the least before the most;
// none where no figure is. They are in the first unit of what is measured.
func Limits(what string, w Water, h House) (out []Limit) {
	for _, l := range limits(what, w, h) {
		out = append(out, Limit{l.Setting, l.least, l.doubt})
	}
	return out
}

// Graver says that one standing needs a person more than another.
func Graver(one, other Standing) bool { return graver(one) > graver(other) }

// WaterName is what people call something that is measured. The law speaks of
// all coliforms together.
func WaterName(what string) string {
	if what == "total_coliform" {
		return "coliforms"
	}
	return Reading{What: what}.name()
}

package coat

// Arc is a part of a calendar year, in shares of it: 0 is 1 January and 1 the
// end of the year.
type Arc struct {
	Kind string  `json:"kind"` // began, molt, ended, unchecked; a caller's own for what it adds
	From float64 `json:"from"`
	To   float64 `json:"to"`
}

// Ring is a calendar year of an animal's coat, for a drawing.
type Ring struct {
	Year int   `json:"year"`
	Arcs []Arc `json:"arcs"`
}

// Rings turns coat years into calendar years. "began" and "ended" say that the
// molt did so somewhere within the arc, "molt" that it was under way, and
// "unchecked" that nobody scored the coat; where there is no arc it was scored
// and not in molt, or the day is yet to come. A molt over New Year stands at the
// end of one ring and at the beginning of the next.
func Rings(years []Year, today Day) []Ring {
	if len(years) == 0 {
		return []Ring{}
	}
	out := []Ring{}
	for year := years[0].From.Year(); year <= today.Year(); year++ {
		out = append(out, Ring{year, []Arc{}})
	}
	for _, y := range years {
		for _, s := range y.spans() {
			out = Lay(out, s.kind, s.from, s.to)
		}
	}
	return out
}

// Lay puts a stretch of days on rings, one arc for each calendar year that it
// reaches into; a year without a ring gets none.
func Lay(rings []Ring, kind string, from, to Day) []Ring {
	for i := range rings {
		first, next := On(rings[i].Year, 1, 1), On(rings[i].Year+1, 1, 1)
		if a, b := max(from, first), min(to, next); a < b {
			length := float64(next - first)
			rings[i].Arcs = append(rings[i].Arcs, Arc{kind, float64(a-first) / length, float64(b-first) / length})
		}
	}
	return rings
}

type span struct {
	kind     string
	from, to Day
}

// spans are the stretches of a coat year. Of a gap only that counts as unchecked
// which the scores on both sides of it do not bridge.
func (y Year) spans() (out []span) {
	if y.Onset == nil {
		for _, g := range y.Gaps {
			out = append(out, span{"unchecked", g.From, g.To})
		}
		return out
	}
	molted, over := *y.Last, *y.Last
	if y.End != nil {
		molted, over = y.End.After, y.End.By
		out = append(out, span{"ended", molted, over})
	}
	out = append(out, span{"began", y.Onset.After, y.Onset.By}, span{"molt", y.Onset.By, molted})
	for _, g := range y.Gaps {
		out = append(out, span{"unchecked", g.From, min(g.To, y.Onset.After)}, span{"unchecked", max(g.From, over), g.To})
	}
	return out
}

package main

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"

	"haulout/projections/dominance"
)

// print writes the verdict first, then the order, then what it rests on.
func (f *hierarchyFigure) print(out io.Writer) error {
	lines := []string{f.verdict.Sentence}
	for _, gate := range f.verdict.Failed {
		lines = append(lines, fmt.Sprintf("Held to %q by the gate %q: %s.", gate.Keeps, gate.Name, gate.Why))
	}
	if f.animals() > 2 {
		lines = append(lines, f.table()...)
		lines = append(lines, f.legend()...)
		lines = append(lines, "", f.evidenceLine(), f.pairsLine())
		lines = append(lines, f.contradictions()...)
	}
	if f.animals() > 1 {
		lines = append(lines, "", f.watch())
	}
	if len(f.in.warnings) > 0 || f.daysMinded() != "" {
		lines = append(lines, "")
	}
	for _, warning := range f.in.warnings {
		lines = append(lines, "Mind: "+warning+".")
	}
	if why := f.daysMinded(); why != "" {
		lines = append(lines, "Mind: for ratings, "+why+".")
	}
	lines = append(lines, "", hierarchyCaution)
	_, err := fmt.Fprintln(out, strings.Join(lines, "\n"))
	return err
}

// table has the animals in their order, or as the file has them where there is
// none; then no place and no score is shown.
func (f *hierarchyFigure) table() []string {
	var text strings.Builder
	w := tabwriter.NewWriter(&text, 0, 0, 2, ' ', tabwriter.AlignRight)
	ids, score := f.verdict.Order, f.in.matrix.DavidsScore(dominance.Dij).Norm
	if len(ids) == 0 {
		ids = f.in.matrix.IDs
		fmt.Fprint(w, "animal\t")
	} else {
		fmt.Fprint(w, "place\tanimal\tmay be\tDavid's score\t")
	}
	fmt.Fprintln(w, "encounters\twon\tlost\tundecided\t")
	for _, id := range ids {
		i := slices.Index(f.in.matrix.IDs, id)
		if place, stands := f.places[id]; stands {
			fmt.Fprintf(w, "%s\t%s\t%s\t%.2f\t", ordinal(place.Place), id, place.words(), score[i])
		} else {
			fmt.Fprintf(w, "%s\t", id)
		}
		won, lost, undecided := f.record(i)
		fmt.Fprintf(w, "%d\t%d\t%d\t%d\t\n", won+lost+undecided, won, lost, undecided)
	}
	w.Flush()
	return append([]string{""}, trimmed(text.String())...)
}

// record is how often an animal won, lost and neither.
func (f *hierarchyFigure) record(i int) (won, lost, undecided int) {
	m := f.in.matrix
	for j := range m.IDs {
		w, l := int(m.Decided(i, j)), int(m.Decided(j, i))
		won, lost, undecided = won+w, lost+l, undecided+int(m.Met(i, j))-w-l
	}
	return won, lost, undecided
}

// words is the range of places in words.
func (p hierarchyPlace) words() string {
	switch p.Last - p.First {
	case 0:
		return "no other"
	case 1:
		return ordinal(p.First) + " or " + ordinal(p.Last)
	}
	return ordinal(p.First) + " to " + ordinal(p.Last)
}

func ordinal(n int) string {
	if n%100 < 11 || n%100 > 13 {
		switch n % 10 {
		case 1:
			return fmt.Sprintf("%dst", n)
		case 2:
			return fmt.Sprintf("%dnd", n)
		case 3:
			return fmt.Sprintf("%drd", n)
		}
	}
	return fmt.Sprintf("%dth", n)
}

// legend says what the columns are, and how straight the order is.
func (f *hierarchyFigure) legend() []string {
	if f.places == nil {
		return []string{"", f.straight}
	}
	return []string{"", fmt.Sprintf("David's score is normalised, from 0 to %d (by Dij); a range of places holds %.0f in 10 of what the encounters allow.",
		f.animals()-1, 10*dominance.Assumed("level").Value), "", f.straight}
}

func (f *hierarchyFigure) evidenceLine() string {
	c := f.verdict.Counts
	text := fmt.Sprintf("It rests on %s of %d animals, %.1f an animal", counted(c.Interactions, "encounter", "encounters"), c.Animals, float64(c.Interactions)/float64(c.Animals))
	if c.Undecided > 0 {
		text += fmt.Sprintf(", %d of them undecided", c.Undecided)
	}
	if n := len(f.in.met); n > 0 && f.in.met[n-1].day != "" && f.in.met[0].day != "" {
		text += ", from " + f.in.met[0].day + " to " + f.in.met[n-1].day
	}
	return text + "."
}

func (f *hierarchyFigure) pairsLine() string {
	p := f.verdict.Pairs
	if len(p.Unseen) == 0 {
		return fmt.Sprintf("Every one of %s was seen to meet.", counted(p.Lived, "pair", "pairs"))
	}
	return fmt.Sprintf("Of %s %d were never seen to meet, if all lived together: %s.", counted(p.Lived, "pair", "pairs"), len(p.Unseen), listedPairs(p.Unseen, false))
}

// listedPairs names the first pairs, with the reason where it is wanted.
func listedPairs(pairs []dominance.Match, why bool) string {
	var out []string
	for _, p := range pairs[:min(len(pairs), told)] {
		text := p.A + " and " + p.B
		if why {
			text += " (" + p.Why + ")"
		}
		out = append(out, text)
	}
	if more := len(pairs) - told; more > 0 {
		out = append(out, fmt.Sprintf("and %d more", more))
	}
	return strings.Join(out, "; ")
}

// contradictions are the pairs whose lower animal won more often, and the fewest
// that any order leaves.
func (f *hierarchyFigure) contradictions() []string {
	if f.places == nil {
		return nil
	}
	m, found := f.in.matrix, []string{}
	for at, above := range f.verdict.Order {
		for _, below := range f.verdict.Order[at+1:] {
			i, j := slices.Index(m.IDs, below), slices.Index(m.IDs, above)
			if m.Dominates(i, j) {
				found = append(found, fmt.Sprintf("%s over %s, %.0f–%.0f", below, above, m.Decided(i, j), m.Decided(j, i)))
			}
		}
	}
	line := "No pair contradicts the order."
	if len(found) > 0 {
		line = "Against the order: " + strings.Join(found, "; ") + "."
	}
	return append([]string{line}, f.fewest()...)
}

// fewest is what the best orders leave.
func (f *hierarchyFigure) fewest() []string {
	if f.best == nil {
		return nil
	}
	orders := counted(int(f.best.Orders), "order leaves", "orders leave")
	if f.best.I == 0 {
		return []string{orders + " no contradiction (I 0, SI 0)."}
	}
	return []string{fmt.Sprintf("No order leaves fewer than %s; %s so few and so near (I %d, SI %d).", counted(f.best.I, "contradiction", "contradictions"), orders, f.best.I, f.best.SI)}
}

func (f *hierarchyFigure) watch() string {
	if len(f.verdict.Watch) == 0 {
		return "Watch next: no pair more than the others."
	}
	return "Watch next: " + listedPairs(f.verdict.Watch, true) + "."
}

// daysMinded is what stands in the way of ratings, where encounters are known.
func (f *hierarchyFigure) daysMinded() string {
	if len(f.in.met) == 0 {
		return ""
	}
	return f.notes["elo"]
}

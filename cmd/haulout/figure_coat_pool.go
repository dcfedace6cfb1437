package main

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"haulout/projections/coat"
)

// poolFigure draws animals towards their class, the lists in the order of groups.
type poolFigure struct {
	Mean      *float64  `json:"mu"`
	Error     *float64  `json:"se_mu"`
	Between   *float64  `json:"var_between_reml"`
	Within    *float64  `json:"var_within_reml"`
	BetweenML *float64  `json:"var_between_ml"`
	WithinML  *float64  `json:"var_within_ml"`
	Criterion *float64  `json:"reml_crit"`
	Groups    []string  `json:"groups"`
	N         []int     `json:"n"`
	Means     []float64 `json:"group_mean"`
	Weights   []float64 `json:"weight"` // how much its own figures count, 0 to 1
	Values    []float64 `json:"blup"`
	PlainSD   []float64 `json:"pred_sd_next_plugin"` // of the next figure, as if the variances were known
	PlainLo   []float64 `json:"pred95_lo"`
	PlainHi   []float64 `json:"pred95_hi"`
	NextLo    []float64 `json:"next_lo"` // 9 in 10, with what is not known of mean and variances
	NextHi    []float64 `json:"next_hi"`
	NotEnough string    `json:"not_enough,omitempty"`
	Caution   string    `json:"caution"`
}

// plainly is within how many standard deviations 95 in 100 lie of a normal value.
const plainly = 1.959963984540054

func answerPool(o object) (answer, error) {
	var in struct {
		Y     numbers `json:"y"`
		Group words   `json:"group"`
	}
	if err := o.into(&in); err != nil {
		return nil, err
	}
	if len(in.Y) != len(in.Group) {
		return nil, fmt.Errorf("y has %s and group %d; give the animal of each", counted(len(in.Y), "number", "numbers"), len(in.Group))
	}
	var figures []coat.Observed
	each := map[string]int{}
	for i, y := range in.Y {
		if strings.TrimSpace(in.Group[i]) == "" {
			return nil, fmt.Errorf("group[%d] is empty; name the animal", i)
		}
		if y != nil {
			figures = append(figures, coat.Observed{Animal: in.Group[i], Value: *y})
			each[in.Group[i]]++
		}
	}
	f := &poolFigure{Caution: coatCaution}
	switch {
	case len(each) < 2:
		f.NotEnough = counted(len(each), "animal has", "animals have") + " figures; how animals differ needs 2"
		return f, nil
	case len(each) == len(figures):
		f.NotEnough = "no animal has two figures, so what differs from year to year can't be told from what differs between animals"
		return f, nil
	}
	return f, f.fill(figures)
}

func (f *poolFigure) fill(figures []coat.Observed) error {
	p, err := coat.Pool(figures, nil)
	if err != nil {
		return err
	}
	c, err := coat.CriteriaOf(figures)
	if err != nil {
		return err
	}
	f.Mean, f.Error, f.Between, f.Within = &p.Mean, &p.Error, &p.Between, &p.Within
	f.BetweenML, f.WithinML, f.Criterion = &c.Between, &c.Within, &c.Restricted
	for _, a := range p.Animals {
		sd := math.Sqrt(p.Between*(1-a.Weight) + p.Within)
		_, lo, hi := p.Next(a.Animal)
		f.Groups, f.N, f.Means, f.Weights, f.Values = append(f.Groups, a.Animal), append(f.N, a.N), append(f.Means, a.Mean), append(f.Weights, a.Weight), append(f.Values, a.Value)
		f.PlainSD, f.PlainLo, f.PlainHi = append(f.PlainSD, sd), append(f.PlainLo, a.Value-plainly*sd), append(f.PlainHi, a.Value+plainly*sd)
		f.NextLo, f.NextHi = append(f.NextLo, lo), append(f.NextHi, hi)
	}
	return nil
}

func (f *poolFigure) print(out io.Writer) error {
	if f.NotEnough != "" {
		return printLines(out, f.Caution, "Cannot be told: "+f.NotEnough+".")
	}
	var text strings.Builder
	w := tabwriter.NewWriter(&text, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "animal\tfigures\tits mean\tcounts for\tits usual\tnext, 9 in 10\t")
	for i, name := range f.Groups {
		fmt.Fprintf(w, "%s\t%d\t%.1f\t%s\t%.1f\t%.1f to %.1f\t\n", name, f.N[i], f.Means[i], share(f.Weights[i]), f.Values[i], f.NextLo[i], f.NextHi[i])
	}
	w.Flush()
	head := fmt.Sprintf("The mean of the class is %.1f (standard error %.1f); animals differ by %.1f and one animal's years by %.1f (standard deviations).",
		*f.Mean, *f.Error, math.Sqrt(*f.Between), math.Sqrt(*f.Within))
	return printLines(out, f.Caution, append([]string{head, ""}, trimmed(text.String())...)...)
}

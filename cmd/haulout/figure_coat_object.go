package main

import (
	"fmt"
	"io"
	"math"
	"slices"

	"haulout/projections/coat"
)

// moltFigure is one molt of one animal, in the days of the object.
type moltFigure struct {
	Onset     *float64     `json:"onset"`
	Middle    *float64     `json:"mid"`
	End       *float64     `json:"end"`
	Duration  *float64     `json:"duration"`
	OnsetIn   *[2]*float64 `json:"onset_interval"` // null at an end that nobody looked at
	EndIn     *[2]*float64 `json:"end_interval"`
	Known     *float64     `json:"onset_known_tau"` // by how long the molt takes
	Used      *int         `json:"n_used"`
	Left      int          `json:"left_out"`
	Words     []string     `json:"backwards"` // scores with less new coat than before
	NotEnough string       `json:"not_enough,omitempty"`
	Caution   string       `json:"caution"`
}

func answerMolt(o object) (answer, error) {
	var in struct {
		Day        numbers  `json:"day"`
		Percent    numbers  `json:"percent_new"`
		Thresholds numbers  `json:"thresholds"`
		Tau        *float64 `json:"tau_days"`
	}
	if err := o.into(&in); err != nil {
		return nil, err
	}
	days, percents, left, err := in.Day.beside(in.Percent, "day", "percent_new")
	if err != nil {
		return nil, err
	}
	scores, err := percentScores(days, percents, "percent_new", 100)
	if err != nil {
		return nil, err
	}
	if err := thresholdsAgree(in.Thresholds); err != nil {
		return nil, err
	}
	f := &moltFigure{Left: left, Words: []string{}, Caution: coatCaution}
	if err := f.read(scores); err != nil {
		return nil, err
	}
	return f, f.project(scores, in.Tau)
}

// percentScores are scores of shares of new coat, of which most is all.
func percentScores(days, shares []float64, key string, most float64) (out []coat.Score, err error) {
	for i, share := range shares {
		if share < 0 || share > most {
			return nil, fmt.Errorf("%s has %v, which is no share of a coat; give 0 to %g", key, share, most)
		}
		percent := share * 100 / most
		score, err := coat.NewScore(coat.Day(days[i]), "", &percent)
		if err != nil {
			return nil, err
		}
		out = append(out, score)
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("day and %s are empty; give a score or more that is known", key)
	}
	return out, nil
}

func thresholdsAgree(given numbers) error {
	used := []float64{coat.Assumed("onset_at").Value, coat.Assumed("middle_at").Value, coat.Assumed("end_at").Value}
	if known, _ := given.known(); given != nil && !slices.Equal(known, used) {
		return fmt.Errorf("thresholds is %v; onset, middle and end are read at %v %%: leave it out", known, used)
	}
	return nil
}

// read finds the molt of the scores.
func (f *moltFigure) read(scores []coat.Score) error {
	last := slices.MaxFunc(scores, func(a, b coat.Score) int { return int(math.Copysign(1, float64(a.Day-b.Day))) }).Day
	years, err := coat.Read(scores, coat.Turns(scores), last)
	if err != nil {
		return err
	}
	years = slices.DeleteFunc(years, func(y coat.Year) bool { return y.Onset == nil })
	switch {
	case len(years) > 1:
		return fmt.Errorf("day and percent_new hold %d molts; give one of them, or a sheet of all", len(years))
	case len(years) == 0:
		f.NotEnough = "no score is in molt; when it molted was not seen"
		return nil
	}
	y := years[0]
	f.Onset, f.OnsetIn = likely(y.Onset)
	f.Middle, _ = likely(y.Middle)
	if f.End, f.EndIn = likely(y.End); f.End != nil {
		f.Duration = finite(*f.End - *f.Onset)
	}
	for _, b := range y.Backward {
		f.Words = append(f.Words, fmt.Sprintf("day %v after day %v", float64(b.Day), float64(b.Before)))
	}
	return nil
}

// likely is a day and the scores that it lies between; nil where it was not
// seen.
func likely(b *coat.Between) (*float64, *[2]*float64) {
	if b == nil {
		return nil, nil
	}
	in := [2]*float64{nil, finite(float64(b.By))}
	if b.Checked {
		in[0] = finite(float64(b.After))
	}
	return finite(float64(b.Likely)), &in
}

// project adds the onset by how long a molt takes, where the object says that.
func (f *moltFigure) project(scores []coat.Score, tau *float64) error {
	if tau == nil || f.NotEnough != "" {
		return nil
	}
	if !(*tau > 0) {
		return fmt.Errorf("tau_days is %v; give how many days a molt takes, above 0", *tau)
	}
	if !slices.ContainsFunc(scores, coat.Score.Molting) {
		return nil
	}
	onset, used, err := coat.BackProjected(scores, *tau)
	f.Known, f.Used = finite(float64(onset)), &used
	return err
}

func (f *moltFigure) print(out io.Writer) error {
	if f.NotEnough != "" {
		return printLines(out, f.Caution, "Cannot be told: "+f.NotEnough+".")
	}
	lines := []string{"The molt began on day " + placed(f.Onset, f.OnsetIn) + ".", "All was new on day " + placed(f.End, f.EndIn) + "."}
	if f.End == nil {
		lines[1] = "All new was not seen."
	}
	if f.Known != nil {
		lines = append(lines, fmt.Sprintf("By how long it takes, it began on day %.1f (from %s in molt).", *f.Known, counted(*f.Used, "score", "scores")))
	}
	for _, back := range f.Words {
		lines = append(lines, "Mind: less new coat on "+back+"; look at it.")
	}
	return printLines(out, f.Caution, append(lines, leftOut(f.Left)...)...)
}

func placed(day *float64, in *[2]*float64) string {
	switch {
	case day == nil:
		return "unknown"
	case in[0] == nil:
		return fmt.Sprintf("%.1f or before; nobody looked before day %v", *day, *in[1])
	}
	return fmt.Sprintf("%.1f (between %v and %v)", *day, *in[0], *in[1])
}

package main

import (
	"errors"
	"fmt"
	"io"
	"slices"

	"haulout/projections/coat"
)

// classFigure is the molt of a class in one season, by each kind of sample.
type classFigure struct {
	ByState  classSeason `json:"type1"`                  // before, in or after molt
	ByScore  classSeason `json:"type2"`                  // how far each was
	InMolt   classSeason `json:"type3"`                  // animals in molt alone
	Known1   classSeason `json:"type2_integral_prec002"` // where the index is known to a hundredth either way
	Known2   classSeason `json:"type2_integral_prec004"` // to two hundredths
	InKnown2 classSeason `json:"type3_integral_prec004"`
	Caution  string      `json:"caution"`
}

type classSeason struct {
	Duration  *float64    `json:"duration"`
	Mean      *float64    `json:"mean_start"`
	SD        *float64    `json:"sd_start"`
	Errors    *[3]float64 `json:"se"` // of the three
	LogLik    *float64    `json:"loglik"`
	NotEnough string      `json:"not_enough,omitempty"`
}

// knownTo widens scores in molt to all that an index may have been that is known
// to so many hundredths.
func knownTo(hundredths float64, scores []coat.Score) []coat.Score {
	out := slices.Clone(scores)
	for i, s := range out {
		if s.Molting() {
			out[i].Least, out[i].Most = max(s.Least-hundredths, 0), min(s.Most+hundredths, 100)
		}
	}
	return out
}

func answerClass(o object) (answer, error) {
	var in struct {
		Day   numbers `json:"day"`
		Index numbers `json:"index"`
	}
	if err := o.into(&in); err != nil {
		return nil, err
	}
	days, index, _, err := in.Day.beside(in.Index, "day", "index")
	if err != nil {
		return nil, err
	}
	scores, err := percentScores(days, index, "index", 1)
	if err != nil {
		return nil, err
	}
	f, errs := &classFigure{Caution: coatCaution}, []error{}
	for _, fit := range []struct {
		to     *classSeason
		scores []coat.Score
		sample coat.Sample
	}{
		{&f.ByState, scores, coat.ByState}, {&f.ByScore, scores, coat.ByScore}, {&f.InMolt, scores, coat.OnlyMolting},
		{&f.Known1, knownTo(1, scores), coat.ByScore}, {&f.Known2, knownTo(2, scores), coat.ByScore}, {&f.InKnown2, knownTo(2, scores), coat.OnlyMolting},
	} {
		errs = append(errs, fit.to.fit(fit.scores, fit.sample))
	}
	return f, errors.Join(errs...)
}

func (c *classSeason) fit(scores []coat.Score, sample coat.Sample) error {
	s, err := coat.FitSeason(scores, sample)
	if err != nil {
		return err
	}
	if c.NotEnough = s.NotEnough; s.NotEnough == "" {
		c.Duration, c.Mean, c.SD, c.Errors, c.LogLik = finite(s.Duration), finite(float64(s.Onset)), finite(s.SD), &s.Errors, finite(s.LogLikelihood)
	}
	return nil
}

func (f *classFigure) print(out io.Writer) error {
	return printLines(out, f.Caution,
		"By how far each animal was: "+f.ByScore.words()+".", "By whether each was before, in or after molt: "+f.ByState.words()+".",
		"By animals in molt alone: "+f.InMolt.words()+".", "Each score is taken as another animal's; repeated ones make the errors too small.")
}

func (c classSeason) words() string {
	if c.NotEnough != "" {
		return "cannot be told, " + c.NotEnough
	}
	return fmt.Sprintf("molts begin on day %.1f on average (standard error %.1f), standard deviation %.1f days, and take %.1f days (standard error %.1f)", *c.Mean, c.Errors[1], *c.SD, *c.Duration, c.Errors[0])
}

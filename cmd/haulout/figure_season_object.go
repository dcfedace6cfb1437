package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"haulout/projections/coat"
)

// circleFigure is what directions come to, in radians, degrees or, where days
// of the year were given, days.
type circleFigure struct {
	N            int      `json:"n"`
	C            float64  `json:"C"` // sum of cosines
	S            float64  `json:"S"` // sum of sines
	Resultant    float64  `json:"Rbar"`
	MeanDeg      float64  `json:"mean_deg"`
	Variance     float64  `json:"circ_variance"`
	SDRad        *float64 `json:"circ_sd_rad"`
	SDDeg        *float64 `json:"circ_sd_deg"`
	DeviationDeg float64  `json:"angular_dev_deg"`
	Kappa        *float64 `json:"kappa_ml"` // null where all are one
	KappaFew     *float64 `json:"kappa_ml_bias_corrected"`
	MeanErrorDeg *float64 `json:"se_mu_deg"`
	Z            float64  `json:"rayleigh_z"`
	Stat         float64  `json:"rayleigh_stat_pkg"`
	Series       float64  `json:"rayleigh_p_pkg"` // by Mardia's series, which few directions may bring to 0
	P            float64  `json:"rayleigh_p_zar"`
	MeanDay      *float64 `json:"mean_doy365"` // null where degrees alone were given
	SDDays       *float64 `json:"sd_days365"`
	Left         int      `json:"left_out"` // not known
	NotEnough    string   `json:"not_enough,omitempty"`
	Caution      string   `json:"caution"`
}

// directionsInput is the object as it is written.
type directionsInput struct {
	Degrees numbers  `json:"degrees"`
	Days    numbers  `json:"day_of_year"`
	Period  *float64 `json:"period"`
	Rule    string   `json:"rule"` // how the degrees were made from the days
}

// sameAngle is within how many degrees a day and its angle are the same.
const sameAngle = 1e-6

func answerDirections(o object) (answer, error) {
	var in directionsInput
	if err := o.into(&in); err != nil {
		return nil, err
	}
	period, err := periodOf(in.Period)
	if err != nil {
		return nil, err
	}
	given, size := in.Degrees, 360.
	if in.Days != nil {
		given, size = in.Days, period
		if err := errors.Join(in.agree(period), daysFit("day_of_year", in.Days, period)); err != nil {
			return nil, err
		}
	}
	known, _ := given.known()
	c, err := coat.Directions(turnsOf(known, size))
	if err != nil {
		return nil, errors.New("there is no direction; give day_of_year or degrees, one or more of them known")
	}
	out := newCircleFigure(c)
	if least := coat.Assumed("round").Value; c.Resultant < least {
		out.NotEnough = fmt.Sprintf("they lie all round, so the mean says nothing: R %.2f, and a mean needs %g", c.Resultant, least)
	}
	if out.Left = len(given) - len(known); in.Days != nil {
		out.MeanDay, out.SDDays = finite(period*c.Mean), finite(period*c.SD)
	}
	return out, nil
}

// periodOf is the length of the year in days.
func periodOf(given *float64) (float64, error) {
	if given == nil {
		return daysOfYear, nil
	}
	if !(*given > 0) {
		return 0, fmt.Errorf("period is %v; give the days of a year, such as 365.25", *given)
	}
	return *given, nil
}

// daysFit sees to it that days lie within a year.
func daysFit(key string, days numbers, period float64) error {
	for i, day := range days {
		if day != nil && (*day < 0 || *day > period+1) {
			return fmt.Errorf("%s[%d] is %v, and the year has %v days; give the day of the year, 1 for 1 January", key, i, *day, period)
		}
	}
	return nil
}

// agree holds degrees against the days that stand beside them.
func (in directionsInput) agree(period float64) error {
	if in.Degrees == nil {
		return nil
	}
	if len(in.Degrees) != len(in.Days) {
		return fmt.Errorf("degrees has %d and day_of_year %s; leave one of the lists out", len(in.Degrees), counted(len(in.Days), "number", "numbers"))
	}
	for i, day := range in.Days {
		if (day == nil) != (in.Degrees[i] == nil) || day != nil && math.Abs(math.Remainder(*day/period*360-*in.Degrees[i], 360)) > sameAngle {
			return fmt.Errorf("degrees[%d] is not the angle of day_of_year[%d]; leave one of the lists out", i, i)
		}
	}
	return nil
}

func turnsOf(values []float64, size float64) []float64 {
	out := make([]float64, len(values))
	for i, v := range values {
		out[i] = v / size
	}
	return out
}

func newCircleFigure(c coat.Circle) *circleFigure {
	return &circleFigure{
		N: c.N, C: c.C, S: c.S, Resultant: c.Resultant, MeanDeg: 360 * c.Mean, Variance: 1 - c.Resultant,
		SDRad: finite(2 * math.Pi * c.SD), SDDeg: finite(360 * c.SD), DeviationDeg: 360 * c.Deviation,
		Kappa: finite(c.Kappa), KappaFew: finite(c.KappaSmall), MeanErrorDeg: finite(360 * c.MeanError),
		Z: c.Rayleigh.Z, Stat: c.Resultant, P: c.Rayleigh.P, Series: c.Rayleigh.Series, Caution: seasonCaution,
	}
}

func (f *circleFigure) print(out io.Writer) error {
	line := fmt.Sprintf("%s: mean %.1f°, R %.3f", counted(f.N, "direction", "directions"), f.MeanDeg, f.Resultant)
	if f.MeanDay != nil {
		line = fmt.Sprintf("%s: mean on day %.1f of the year (%.1f°), R %.3f", counted(f.N, "date", "dates"), *f.MeanDay, f.MeanDeg, f.Resultant)
	}
	if f.Kappa != nil && f.SDDeg != nil {
		line += fmt.Sprintf(", kappa %.3g, circular standard deviation %.1f°", *f.Kappa, *f.SDDeg)
	}
	lines := []string{line + ".", seasonOf{Rayleigh: f.Z, P: f.P}.rayleigh()}
	if f.NotEnough != "" {
		lines = append(lines, "Mind: "+f.NotEnough+".")
	}
	if f.Left > 0 {
		lines = append(lines, fmt.Sprintf("Mind: %s not known and left out.", counted(f.Left, "direction is", "directions are")))
	}
	return printLines(out, f.Caution, lines...)
}

// groupsFigure compares groups of days of the year.
type groupsFigure struct {
	Kappa     *float64 `json:"kappa"`
	K         *float64 `json:"K"`
	F         *float64 `json:"F"`
	P         *float64 `json:"p"`
	NotEnough string   `json:"not_enough,omitempty"`
	Caution   string   `json:"caution"`

	season *seasonFigure
}

func answerGroups(o object) (answer, error) {
	var at struct {
		Period *float64 `json:"period"`
	}
	byName := map[string][]float64{}
	rest := object{}
	for key, raw := range o {
		if !strings.HasPrefix(key, "group") {
			rest[key] = raw
		}
	}
	if err := rest.into(&at); err != nil {
		return nil, err
	}
	period, err := periodOf(at.Period)
	if err != nil {
		return nil, err
	}
	var all []float64
	for _, key := range sortedKeys(o) {
		if _, other := rest[key]; other {
			continue
		}
		var days numbers
		if err := json.Unmarshal(o[key], &days); err != nil {
			return nil, fmt.Errorf("%s is %.40s; give a list of days of the year", key, o[key])
		}
		if err := daysFit(key, days, period); err != nil {
			return nil, err
		}
		known, _ := days.known()
		if len(known) == 0 {
			return nil, fmt.Errorf("%s is empty; give days of the year, or leave it out", key)
		}
		for _, day := range known { // day 1 is 1 January, of which nothing has passed
			byName[key] = append(byName[key], (day-1)/period)
		}
		all = slices.Concat(all, byName[key])
	}
	if len(byName) < 2 {
		return nil, errors.New("there is one group; give group1 and group2 or more")
	}
	return newGroupsFigure(all, byName)
}

func newGroupsFigure(all []float64, byName map[string][]float64) (answer, error) {
	season, err := newSeasonFigure(all, byName)
	if err != nil {
		return nil, err
	}
	out := &groupsFigure{NotEnough: season.Compare.NotEnough, Caution: seasonCaution, season: season}
	if c := season.Compare; out.NotEnough == "" {
		out.Kappa, out.K, out.F, out.P = finite(c.Kappa), finite(c.K), finite(c.F), finite(c.P)
	}
	return out, nil
}

func (f *groupsFigure) print(out io.Writer) error { return f.season.print(out) }

package growth

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Season is the course of the year in a mass, beside a straight trend.
type Season struct {
	PerYear   Interval // kg a year, the trend beside it
	Amplitude Interval // kg, half of what lies between top and bottom of the year; Lo 0 means that no season is seen, and Peak then says nothing
	Peak      Interval // day of the year of the top, to a day, 0 being 1 January; its ends may lie beyond the year
	SD        float64  // kg, of a day's mass off the course
	Serial    float64  // how alike days that follow one another are off it, 0 to 0.95
	From, To  int      // days
	Days      int      // with a weigh-in
	NotEnough string

	course wave
}

// SeasonOf is the yearly course of weigh-ins: a line and one sine of a year by
// least squares on which wild readings count less. Its top falls where the mass
// itself has it, so it holds in both hemispheres. A young animal's growth is no
// straight line; give it a few years at a time. The intervals allow for days
// that are alike. Errors: a mass or coat that can't be. Source: cosinor, Nelson
// et al. 1979; seasonal sine beside growth in captive Steller sea lions, Allen
// 2009 (thesis, University of British Columbia).
func SeasonOf(weighings []Weighing) (Season, error) {
	if err := check(weighings); err != nil {
		return Season{}, err
	}
	s := daily(weighings)
	out := Season{Days: len(s.day)}
	if out.NotEnough = tooShort(s, "season_least", "season_days"); out.NotEnough == "" {
		out.NotEnough = unevenYear(s)
	}
	if out.NotEnough != "" {
		return out, nil
	}
	w, off, ok := robustWave(s.day, s.kg, assumed("year"))
	if !ok {
		out.NotEnough = "its weigh-ins can't tell the trend from the course of the year; weigh it in all months"
		return out, nil
	}
	out.From, out.To, out.course, out.SD = int(s.day[0]), int(s.day[len(s.day)-1]), w, w.sd
	out.describe(serial(off))
	return out, nil
}

func (s *Season) describe(serial float64) {
	s.Serial = serial
	sd, freedom := s.SD*math.Sqrt(longRun(serial)), max(1, int(float64(s.Days)/longRun(serial))-4)
	amplitude, peak := s.course.errors(sd)
	s.Amplitude = about(s.course.amplitude(), amplitude, freedom)
	if s.Amplitude.Lo = max(s.Amplitude.Lo, 0); !beyondChance(s.course.amplitude()/amplitude, freedom) {
		s.Amplitude.Lo = 0
	}
	top, half := s.course.peak(), s.course.period/2
	s.Peak = about(top, peak, freedom)
	s.Peak.Lo, s.Peak.Hi = max(s.Peak.Lo, top-half), min(s.Peak.Hi, top+half)
	slope := []float64{0, 1, 0, 0}
	s.PerYear = about(s.course.slope*s.course.period, sd*math.Sqrt(variance(s.course.covariance, slope)), freedom)
}

// beyondChance says whether a wave stands out from nothing: of no wave at all,
// cosine and sine are both off by chance, so that an amplitude is never nought.
func beyondChance(errors float64, freedom int) bool {
	f := distuv.F{D1: 2, D2: float64(freedom)}
	return square(errors)/2 > f.Quantile(assumed("level"))
}

// unevenYear says that too much of the year has no weigh-in.
func unevenYear(s series) string {
	var seen [12]bool
	months := 0
	for _, day := range s.day {
		_, part := math.Modf(day / assumed("year"))
		month := int(math.Floor(12*(part+1))) % 12
		if !seen[month] {
			seen[month], months = true, months+1
		}
	}
	if want := assumed("season_months"); float64(months) < want {
		return fmt.Sprintf("weighed in %d months of the year; needs %.0f", months, want)
	}
	return ""
}

// Expected is the mass of trend and season on a day, in kg. Beyond the weigh-ins
// it goes on as they went.
func (s Season) Expected(day int) float64 { return s.course.at(float64(day)) }

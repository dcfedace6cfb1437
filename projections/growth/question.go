package growth

import (
	"fmt"
	"math"
)

// Question is what a new weigh-in should be asked about once, before it is
// kept. It never refuses: what can't be at all is the vocabulary's business.
type Question struct {
	Ask       string   // in words; empty where nothing is to be asked
	Slip      float64  // kg that was likely meant, where the decimal point seems to have slipped; 0 otherwise
	Expected  Interval // kg, within which nothing is asked
	Of        int      // days with a weigh-in that this rests on
	NotEnough string   // why only a slip could be looked for
}

// slip is how many times too big or too small a mass is whose decimal point was
// set wrong by one place.
const slip = 10

// Asked holds a new weigh-in against the animal's own ones before its day. What
// is expected goes on along the median slope of the last weeks from their
// median; as much as an animal has been known to lose in the days since its last
// weigh-in, and some of its own spread, is not asked about. Errors: a mass or
// coat that can't be.
func Asked(history []Weighing, taken Weighing) (Question, error) {
	if err := check(append([]Weighing{taken}, history...)); err != nil {
		return Question{}, err
	}
	s := daily(within(history, taken.Day-int(assumed("history_days")), taken.Day))
	out := Question{Of: len(s.day)}
	if len(s.day) == 0 {
		out.NotEnough = fmt.Sprintf("not weighed in the %.0f days before", assumed("history_days"))
		return out, nil
	}
	if want := assumed("history_least"); float64(len(s.day)) < want {
		out.NotEnough = fmt.Sprintf("weighed on %d of the %.0f days before; needs %.0f to say what is unusual", len(s.day), assumed("history_days"), want)
	}
	out.Expected = s.expected(float64(taken.Day))
	if out.slipped(taken.Kg); out.Slip == 0 && out.NotEnough == "" {
		out.unusual(taken, s.day[len(s.day)-1])
	}
	return out, nil
}

// expected is the mass that a series leads to on a day, with what is no reason
// to ask.
func (s series) expected(day float64) Interval {
	kg := median(append([]float64(nil), s.kg...))
	own := 0.0
	if float64(len(s.day)) >= assumed("history_least") {
		l := s.line(s.byRank())
		kg, own = l.at(day), spread(s.off(l))
	}
	since := day - s.day[len(s.day)-1]
	sd := max(own, assumed("scale_error")*kg, assumed("scale_least"))
	half := assumed("ask_sd")*sd + kg*min(assumed("change_a_day")*since, assumed("change_most"))
	return Interval{kg, kg - half, kg + half}
}

// slipped looks for a decimal point one place off.
func (q *Question) slipped(kg float64) {
	for _, meant := range []float64{kg / slip, kg * slip} {
		if meant < q.Expected.Lo || meant > q.Expected.Hi || kg >= q.Expected.Lo && kg <= q.Expected.Hi {
			continue
		}
		q.Slip = meant
		times := "big"
		if meant > kg {
			times = "small"
		}
		q.Ask = fmt.Sprintf("%.4g kg is about ten times too %s for it: about %.1f kg was expected. Is the decimal point right, was it %.4g kg?", kg, times, q.Expected.Value, meant)
	}
}

// unusual asks about a mass that is far off.
func (q *Question) unusual(taken Weighing, last float64) {
	if taken.Kg >= q.Expected.Lo && taken.Kg <= q.Expected.Hi {
		return
	}
	than := "more"
	if taken.Kg < q.Expected.Value {
		than = "less"
	}
	q.Ask = fmt.Sprintf("%.4g kg is %.1f kg %s than expected %.0f days after its last weigh-in. Read the scale again: if it says the same, keep it, and show it to the veterinarian where it is a loss.",
		taken.Kg, math.Abs(taken.Kg-q.Expected.Value), than, float64(taken.Day)-last)
}

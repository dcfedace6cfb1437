package projections

import (
	"time"

	"haulout/projections/board"
	"haulout/projections/coat"
	"haulout/projections/growth"
)

// boardBody is what the masses and coats of a facility's animals say together.
type boardBody struct {
	scales []growth.Scale
	coats  map[string]*board.Coat // by animal
}

// readBody looks at scales and coats before the animals are gone through: what a
// scale does explains masses, and molts are compared with those of others.
func (b *boarding) readBody() (err error) {
	if b.body.scales, err = b.v.namedSteps(b.facility, b.all, b.today, b.house); err != nil {
		return err
	}
	b.calls = append(b.calls, board.ScaleSteps(b.stepped(), b.now, b.house)...)
	outlooks, err := b.v.coatOutlooks(b.facility, b.all, b.now)
	b.body.coats = map[string]*board.Coat{}
	for i := range outlooks {
		b.body.coats[outlooks[i].Animal] = coatStanding(&outlooks[i], b.zone)
	}
	return err
}

func (b *boarding) stepped() (out []board.Stepped) {
	on := func(day int) time.Time { return dayNumbered(day).Start(b.zone) }
	for _, s := range b.body.scales {
		for _, step := range s.Steps {
			one := board.Stepped{
				Scale: s.Scale, Since: on(step.Since), First: on(step.Between[0]), Last: on(step.Between[1]),
				Percent: board.Range(step.Percent), Kg: board.Range(step.Kg), Same: step.Same, Weighings: step.Weighings, Elsewhere: step.Elsewhere,
			}
			for _, jump := range step.Of {
				one.Animals = append(one.Animals, board.Jumped{Name: b.name(jump.Animal), Kg: jump.Kg, Percent: jump.Percent})
			}
			out = append(out, one)
		}
	}
	return out
}

// dayNumbered is the day that is so many after 1 January 1970.
func dayNumbered(n int) Day { return Day("1970-01-01").Add(n) }

// coatStanding is where a molt stands, nil where it asks for nobody: it goes as
// expected, nothing is known, or all is new by now, so that how it began matters
// no more.
func coatStanding(o *coat.Outlook, zone *time.Location) *board.Coat {
	if len(o.Years) == 0 {
		return nil
	}
	year, since := o.Years[len(o.Years)-1], coat.Day(0)
	switch {
	case year.State == coat.AllNew:
		return nil
	case o.Standing.Word == coat.Stalled:
		since = *year.Last // another score that does not rise is another reason to look
	case year.Onset != nil:
		since = year.Onset.By
	case o.Standing.Word == coat.Late:
		since = o.Expected.Hi
	default:
		return nil
	}
	return &board.Coat{Standing: string(o.Standing.Word), Words: o.Standing.Words, Since: dayNumbered(int(since)).Start(zone)}
}

// changes holds the last weigh-in against those before, with what a scale
// explains of a fall.
func (b *boarding) changes(series []growth.Weighing, at time.Time) (out []board.Change, err error) {
	list, err := changesOf(series, b.body.scales)
	for _, c := range list {
		if c.NotEnough == "" {
			out = append(out, board.Change{Days: c.Window, Percent: c.Percent, Kg: c.Kg, Median: c.Median, Of: len(c.Of), At: at, Explained: c.Explained})
		}
	}
	return out, err
}

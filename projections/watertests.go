package projections

import "time"

// WaterTests lists the tests of an enclosure's water on days from … to, in order
// of their time.
func (s *Store) WaterTests(facility, enclosure string, from, to Day, asOf time.Time) (out []WaterTest, err error) {
	err = s.at(asOf, func(v view) error {
		days, err := rows[waterRow](v, &waters, Local("enclosure", facility, enclosure), from, to)
		for _, day := range days {
			out = append(out, day.Row.Tests...)
		}
		return err
	})
	return out, err
}

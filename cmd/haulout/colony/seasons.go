package colony

import (
	"math"
	"time"
)

// year is a course through the year, by its value in the middle of each month.
type year [12]float64

// at reads the course on a date, on a straight line between the months.
func (y year) at(date time.Time) float64 {
	months := float64(date.Month()-1) + (float64(date.Day())-15.5)/30.5
	if months < 0 {
		months += 12
	}
	from := int(months)
	share := months - float64(from)
	return y[from%12]*(1-share) + y[(from+1)%12]*share
}

// Courses of body mass, as shares of the mass that age and sex would give.
//
// Grown males: intake falls from May to August (Kastelein et al. 2000, Zoo
// Biology 19:143) and Steller males are heaviest in April (Allen 2009, thesis,
// University of British Columbia). Harbour seals lose mass in their molt
// (Kastelein et al. 2005, Aquatic Mammals 31). Sea-lion females hardly have a
// season; the small dip is put into their molt. The sizes of the swings are
// invented, within what those sources describe.
var (
	massGrownMale  = year{1.00, 1.065, 1.12, 1.145, 1.12, 1.025, 0.915, 0.85, 0.845, 0.855, 0.88, 0.93}
	massYoungMale  = year{1.00, 1.02, 1.035, 1.045, 1.04, 1.01, 0.98, 0.96, 0.96, 0.965, 0.97, 0.985}
	massFemale     = year{1.06, 1.065, 1.05, 1.03, 1.015, 1.01, 1.005, 0.985, 0.95, 0.93, 0.955, 1.015}
	massGrownSeal  = year{1.05, 1.06, 1.06, 1.05, 1.045, 1.03, 0.965, 0.89, 0.87, 0.915, 0.975, 1.02}
	massImmature   = year{1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1}
	summerHardness = year{0, 0, 0, 0.1, 0.6, 1, 1, 0.7, 0.1, 0, 0, 0} // how much grown males defend
	waterWarmth    = year{8, 7.5, 8, 9.5, 11.5, 13.5, 15.5, 16.5, 15.5, 13.5, 11, 9}
)

// winter is 1 in the middle of January and 0 in the middle of July.
func winter(date time.Time) float64 {
	return 0.5 + 0.5*math.Cos(2*math.Pi*float64(date.YearDay()-15)/365.25)
}

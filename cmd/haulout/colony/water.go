package colony

import (
	"slices"
	"strconv"
	"time"

	"haulout/events"
)

// resample is a count that is to be taken again: it repeats the first sample of
// its series.
type resample struct {
	enclosure, first string
	count, part, day int
}

// testWater reads temperature, acidity and salinity daily, ozone where it is
// added, and sends a sample weekly.
func (d *day) testWater() {
	d.takeAgain()
	for i, p := range d.pools {
		d.readWater(p, d.wetAbout(7.5, 8), i)
		if i < 2 {
			d.readWater(p, d.wetAbout(15.9, 8), i)
		}
		if (d.n+i)%7 == 3 && !d.missesSample(p.Enclosure) {
			d.sampleWater(p.Enclosure)
		}
	}
}

func (d *day) readWater(p events.EnclosureDescribed, at time.Time, i int) {
	readings := []events.WaterReading{
		{What: "temperature", Value: decimal(waterWarmth.at(d.date)+d.wet.normal(0, 0.5), 1, "Cel")},
		{What: "ph", Value: decimal(d.wet.normal(7.9, 0.08), 2, "[pH]")},
		{What: "salinity", Value: decimal(d.wet.normal(33, 0.6), 1, "[ppth]")},
	}
	if slices.Contains(p.Added, "ozone") {
		readings = append(readings, d.ozone())
	}
	d.jotThrown(d.wet, d.tablets[i%len(d.tablets)], at, at, "water.tested", events.WaterTested{Enclosure: p.Enclosure, Method: "hand meter", Readings: readings})
}

// ozone is what a meter shows that sees nothing below two hundredths of a
// milligram. The level is invented.
func (d *day) ozone() events.WaterReading {
	out := events.WaterReading{What: "ozone", Value: events.Quantity{Value: "0.02", Unit: "mg/L"}, Bound: "below"}
	if level := d.wet.normal(0.04, 0.013); level >= 0.02 {
		out.Value, out.Bound = decimal(level, 2, "mg/L"), ""
	}
	return out
}

// missesSample says that no sample is sent: one is planted as forgotten, and
// where a high count is taken again nobody sends another besides.
func (d *day) missesSample(enclosure string) bool {
	forgotten := d.c.plan.ForgottenSample
	return d.code == forgotten.Facility && enclosure == forgotten.Enclosure && forgotten.covers(d.midnight) ||
		slices.ContainsFunc(d.again, func(r resample) bool { return r.enclosure == enclosure })
}

// highCounts are the planted series: its first count is over what the law
// allows, and the mean of the three is below.
var highCounts = [3]int{1400, 900, 650}

// sampleWater sends a sample to count coliforms. A high count is taken again
// twice, 48 hours apart.
func (d *day) sampleWater(enclosure string) {
	counts := [3]int{int(d.wet.logBetween(1, 330))}
	if d.wet.chance(0.03) {
		counts = [3]int{int(d.wet.between(1050, 1900)), int(d.wet.between(20, 400)), int(d.wet.between(20, 400))}
	}
	d.sampleSeries(enclosure, counts)
}

func (d *day) sampleSeries(enclosure string, counts [3]int) {
	first := d.number("q", &d.series)
	d.jotSample(enclosure, first, "", counts[0])
	if counts[0] <= 1000 {
		return
	}
	for i, count := range counts[1:] {
		d.again = append(d.again, resample{enclosure, first, count, i + 2, d.n + 2*(i+1)})
	}
}

// takeAgain sends the samples that repeat a high count, and begins the planted
// series on its day.
func (d *day) takeAgain() {
	for _, r := range d.again {
		if r.day == d.n {
			d.jotSample(r.enclosure, r.first+"-"+strconv.Itoa(r.part), r.first, r.count)
		}
	}
	d.again = slices.DeleteFunc(d.again, func(r resample) bool { return r.day <= d.n })
	if high := d.c.plan.HighCount; d.code == high.Facility && d.holds(high.From) {
		d.sampleSeries(high.Enclosure, highCounts)
	}
}

func (d *day) jotSample(enclosure, sample, repeats string, count int) {
	reading := events.WaterReading{What: "total_coliform", Value: whole(float64(count), "{MPN}/dL")}
	if count <= 1 {
		reading.Value, reading.Bound = whole(1, "{MPN}/dL"), "below"
	}
	at := d.wetAbout(16.3, 10)
	d.jotThrown(d.wet, d.office(), at, at, "water.tested", events.WaterTested{
		Enclosure: enclosure, Readings: []events.WaterReading{reading}, Sample: sample, Repeat: repeats, Method: "most probable number",
	})
}

// wetAbout is an hour with a jitter of some minutes either way.
func (d *day) wetAbout(hour, minutes float64) time.Time {
	return d.at(hour + d.wet.between(-minutes, minutes)/60)
}

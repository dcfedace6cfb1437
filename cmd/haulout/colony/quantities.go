package colony

import (
	"strconv"

	"haulout/events"
)

// whole is a quantity without decimals.
func whole(v float64, unit string) events.Quantity {
	return events.Quantity{Value: strconv.Itoa(int(v + 0.5)), Unit: unit}
}

// decimal is a quantity with some places after the point.
func decimal(v float64, places int, unit string) events.Quantity {
	return events.Quantity{Value: strconv.FormatFloat(v, 'f', places, 64), Unit: unit}
}

// kg writes grams as the kitchen scale shows them, in steps of ten.
func kg(grams int) events.Quantity {
	hundredths := strconv.Itoa(100 + grams%1000/10)
	return events.Quantity{Value: strconv.Itoa(grams/1000) + "." + hundredths[1:], Unit: "kg"}
}

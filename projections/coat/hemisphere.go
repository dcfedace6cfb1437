package coat

import (
	_ "embed"
	"encoding/json"
	"math"
)

//go:embed zones-2026-11.json
var zonesFile []byte

var zones = func() (out struct {
	Source  string             `json:"source"`
	Least   Constant           `json:"least"`
	Degrees map[string]float64 `json:"degrees"`
}) {
	if err := json.Unmarshal(zonesFile, &out); err != nil {
		panic("coat: the table of time zones: " + err.Error())
	}
	return out
}()

// HemisphereOf is the hemisphere, north or south, of a place in a time zone, by
// its IANA name such as Europe/Dublin. It is "" where the table does not name
// the zone, as Etc/UTC, and where its principal place is too near the equator
// for all of the zone to lie on one side of it.
func HemisphereOf(zone string) string {
	degrees, known := zones.Degrees[zone]
	switch {
	case !known || math.Abs(degrees) < zones.Least.Value:
		return ""
	case degrees < 0:
		return "south"
	}
	return "north"
}

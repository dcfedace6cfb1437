package colony

import (
	"slices"
	"strconv"
	"time"

	"haulout/events"
)

// site is what does not change about a facility.
type site struct {
	code, prefix, name, zone, text string
	tablets                        []string
	pools                          []events.EnclosureDescribed
	scales                         []string // the first two pools' scales
	diet                           []share
	thawing                        thawing
	pills                          pills
}

func metres(v, unit string) events.Quantity { return events.Quantity{Value: v, Unit: unit} }

func water(id, name, use, area, depth, width, volume, added string) events.EnclosureDescribed {
	return events.EnclosureDescribed{
		Enclosure: id, Name: name, Use: use, Salt: "sea", Added: []string{added},
		WaterArea: metres(area, "m2"), WaterDepth: metres(depth, "m"), Width: metres(width, "m"), Volume: metres(volume, "m3"), DryArea: metres("60", "m2"),
	}
}

const invented = "Invented demo colony. No animal, person or place in it is real, and no figure is a measurement."

// sites lists the three facilities, the eastern ones first.
var sites = []site{
	{
		code: "saltgarth", prefix: "sg", name: "Saltgarth", zone: "Europe/Dublin",
		text:    invented + " Saltgarth keeps California sea lions in three pools behind a sea wall.",
		tablets: []string{"sg-tablet-1", "sg-tablet-2", "sg-tablet-3"},
		pools: []events.EnclosureDescribed{
			water("sg-long", "Long Pool", "display", "420", "3.6", "14", "1500", "none"),
			water("sg-stack", "Stack Pool", "display", "210", "3.0", "10", "620", "none"),
			water("sg-cove", "Cove", "holding", "90", "1.6", "7", "140", "none"),
			water("sg-pen", "Quiet Pen", "isolation", "30", "1.2", "4.5", "36", "none"),
		},
		scales: []string{"sg-deck", "sg-platform"},
		diet: []share{
			{"herring-atlantic", 0.58, 0.36}, {"mackerel-atlantic", 0.22, 0.22}, {"squid-mixed", 0.06, 0.28}, {"smelt-rainbow", 0.14, 0.14},
		},
		thawing: thawing{out: 0.2, seen: 7.9}, pills: singly,
	},
	{
		code: "wrackline-bay", prefix: "wb", name: "Wrackline Bay", zone: "Europe/Dublin",
		text:    invented + " Wrackline Bay keeps harbour seals in a tidal lagoon.",
		tablets: []string{"wb-tablet-1", "wb-tablet-2"},
		pools: []events.EnclosureDescribed{
			water("wb-lagoon", "Lagoon", "display", "650", "2.4", "18", "1400", "none"),
			water("wb-skerry", "Skerry Pool", "display", "180", "2.2", "9", "390", "none"),
			water("wb-pen", "Back Pen", "isolation", "24", "1.0", "4", "24", "none"),
		},
		scales: []string{"wb-ramp", "wb-skid"},
		diet: []share{
			{"herring-atlantic", 0.56, 0.40}, {"capelin", 0.09, 0.09}, {"squid-mixed", 0.04, 0.20}, {"pollock-alaska", 0.12, 0.12}, {"smelt-rainbow", 0.19, 0.19},
		},
		thawing: thawing{out: -5.4, seen: 6.7, evening: true}, pills: tablets,
	},
	{
		code: "tern-sluice", prefix: "ts", name: "Tern Sluice", zone: "Atlantic/Azores",
		text:    invented + " Tern Sluice takes in rescued animals and keeps a mixed group.",
		tablets: []string{"ts-tablet-1", "ts-tablet-2"},
		pools: []events.EnclosureDescribed{
			water("ts-basin", "Basin", "display", "380", "3.2", "13", "1150", "ozone"),
			water("ts-lock", "Lock Pool", "training", "120", "2.6", "8", "300", "none"),
			water("ts-pen", "Rescue Pen", "isolation", "28", "1.1", "4.5", "30", "none"),
		},
		scales: []string{"ts-deck", "ts-crate"},
		diet: []share{
			{"herring-pacific", 0.56, 0.36}, {"mackerel-atlantic", 0.20, 0.20}, {"squid-mixed", 0.06, 0.26}, {"pollock-alaska", 0.18, 0.18},
		},
		thawing: thawing{out: -5.4, seen: 6.7}, pills: multi,
	},
}

// facility is one place with its animals and stores while the days run.
type facility struct {
	site
	dice
	c        *colony
	loc      *time.Location
	cast     []*animal // all who ever live here
	animals  []*animal // who lives here today
	keepers  []string
	store    store
	jots     []jot
	late     []*jot // from the tablet that comes back late
	repairs  []repair
	sessions int
	watches  int
	series   int
	courses  []cure
	findings []finding
	wet      dice                 // of the water, so that it does not disturb the rest
	again    []resample           // of the water, that are still to be taken
	through  events.ThawCompleted // planted, on its way
}

func zone(name string) *time.Location {
	loc, err := time.LoadLocation(name)
	if err != nil {
		panic("colony: the zone " + name + " is missing: " + err.Error())
	}
	return loc
}

func newFacility(seed uint64, s site, cast []*animal, c *colony) *facility {
	f := &facility{site: s, dice: newDice(seed, s.code), wet: newDice(seed, s.code+" water"), c: c, loc: zone(s.zone), keepers: keepersOf(s.code)}
	f.store = newStore(s.diet)
	for _, a := range cast {
		if slices.ContainsFunc(a.stays, func(s stay) bool { return s.facility == f.code }) {
			f.cast = append(f.cast, a)
		}
	}
	return f
}

// midnight is the local start of day n.
func (f *facility) midnight(n int) time.Time {
	y, m, d := f.c.date(n).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, f.loc)
}

// Devices besides the tablets: who takes deliveries and thaws, and the office.
func (f *facility) storeroom() string { return f.prefix + "-store" }
func (f *facility) office() string    { return f.prefix + "-office" }
func (f *facility) desk() string      { return f.prefix + "-desk" }
func (f *facility) clinic() string    { return f.prefix + "-clinic" }

// author is who works with a device on a day; keepers take turns.
func (f *facility) author(device string, n int) string {
	switch device {
	case f.office():
		return leadOf(f.code)
	case f.desk():
		return registrar
	case f.clinic():
		return veterinarian
	}
	return f.keepers[(slices.Index(f.tablets, device)+1+n)%len(f.keepers)]
}

// tablet is the one on which the keepers note what an animal does.
func (f *facility) tablet(a *animal) string {
	return f.tablets[slices.Index(f.cast, a)%len(f.tablets)]
}

// number makes an id of the facility, such as sg-s-000012.
func (f *facility) number(sort string, n *int) string {
	*n++
	digits := strconv.Itoa(1_000_000 + *n)[1:]
	return f.prefix + "-" + sort + "-" + digits
}

// company lists who lives in an enclosure.
func (f *facility) company(enclosure string) (out []*animal) {
	for _, a := range f.animals {
		if a.home == enclosure {
			out = append(out, a)
		}
	}
	return out
}

func ids(animals []*animal) []string {
	out := make([]string, len(animals))
	for i, a := range animals {
		out[i] = a.id
	}
	return out
}

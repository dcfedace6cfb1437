package events

import (
	"bytes"
	"flag"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write golden files that are missing; those that exist are never changed")

const goldenDir = "../testdata/events"

// The animals and places of the stories.
const (
	marl    = "0195a1c0-2e00-7a10-8f01-4d61726c0001"
	quillon = "0195a1c0-3a80-7b22-9c02-5175696c0002"
	osier   = "0195a1c0-4700-7c34-ad03-4f7369650003"

	harbour = "harbour-pool"
	herring = "herring"
	lotA    = "HER-2602-A"
	scan    = "marl-ultrasound"
	session = "0195d0a4-8800-7e01-8b11-000000000601"
	watch   = "0195d0a4-9c00-7e02-8b12-000000000602"
)

// goldenID makes the id of the n-th golden record: a UUIDv7 of its time.
func goldenID(at time.Time, n int) string {
	ms := at.UnixMilli()
	return fmt.Sprintf("%08x-%04x-7%03x-8%03x-%012x", ms>>16, ms&0xffff, n, n, 0x5a17ca57<<8|n)
}

func measured(value, unit string) Quantity { return Quantity{value, unit} }

// stories holds what happened at Saltgarth, one story a wire name, each a
// quarter of an hour after the one before. A new kind is added at the end.
var stories = []Body{
	&FacilityOpened{Name: "Saltgarth", Zone: "Europe/Dublin", Text: "Sea lions and seals below the old quay."},
	&EnclosureDescribed{
		Enclosure: harbour, Name: "Harbour pool", Use: "display",
		WaterArea: measured("412.5", "m2"), WaterDepth: measured("3.80", "m"), DryArea: measured("96", "m2"), Volume: measured("1240", "m3"),
		Salt: "sea", Text: "Haul-out on the east side.",
	},
	&AnimalEntered{
		Animal: marl, Name: "Marl", Taxon: "Zalophus californianus", Sex: "female", Born: "2014-06-XX", How: "arrival",
		From: "Wrackline Bay", Dam: "wrackline-017", Sire: "wrackline-004", Tape: 3, Text: "Calm on arrival.",
	},
	&AnimalIdentified{Animal: marl, Scheme: "iso11784", Code: "276274877906943", Where: "left shoulder", Reader: "wand 2", Text: "Read twice."},
	&AnimalPlaced{Animal: marl, Enclosure: harbour, Reason: "quarantine is over"},
	&AnimalLeft{Animal: osier, How: "move", To: "Tern Sluice", Text: "Travelled in crate 4."},
	&FoodDescribed{
		Food: herring, Name: "Herring, whole", Taxon: "Clupea harengus", Form: "fish",
		Composition: Composition{
			Water: measured("68.0", "g"), Protein: measured("17.9", "g"), Fat: measured("11.2", "g"),
			Ash: measured("2.6", "g"), Carbohydrate: measured("0.3", "g"),
		},
		Energy: measured("171", "kcal"), Basis: "metabolizable_atwater", Factors: "specific", Source: "supplier's sheet of the winter catch",
	},
	&LotReceived{
		Lot: lotA, Food: herring, Mass: measured("480.0", "kg"), Caught: "2026-01", Supplier: "Quayside Fish", UseBy: "2026-10-31",
		Store: "freezer 2", Text: "Three pallets, hard frozen.",
	},
	&LotAssayed{
		Lot: lotA, Composition: Composition{Water: measured("66.4", "g"), Protein: measured("17.5", "g"), Fat: measured("13.1", "g"), Ash: measured("2.4", "g")},
		Energy: measured("786", "kJ"), Basis: "gross", Sampled: "2026-03-01", Laboratory: "Saltgarth laboratory", Text: "Five fish, minced together.",
	},
	&LotThawed{Lot: lotA, Mass: measured("22.0", "kg"), How: "refrigerated", Complete: "2026-03-03T05:40:00Z"},
	&LotDiscarded{Lot: lotA, Mass: measured("1.35", "kg"), Reason: "bellies burst in the thaw"},
	&RationSet{Animal: marl, Items: []RationItem{{herring, measured("5.5", "kg")}}, Reason: "holding her at her winter mass"},
	&FeedGiven{
		Animal: marl, How: "training", Session: session, Text: "Slow to start.",
		Items: []FeedItem{
			{Food: herring, Lot: lotA, Offered: measured("1.50", "kg"), Eaten: measured("1.35", "kg")},
			{Food: herring, Offered: measured("250", "g"), Eaten: measured("0", "g")},
		},
	},
	&SupplementGiven{Animal: marl, Supplement: "thiamine", Dose: measured("150", "mg"), Basis: "25 mg to a kilogram of fish", Text: "In the second fish."},
	&WeightTaken{Animal: marl, Mass: measured("81.5", "kg"), Scale: "deck-scale", Coat: "dry", Method: "voluntary", Text: "Steady on the plate."},
	&ConditionScored{Animal: marl, Scale: "Saltgarth five", Least: measured("1", "1"), Most: measured("5", "1"), Score: measured("3.5", "1"), Text: "Hips just covered."},
	&LengthMeasured{Animal: marl, Length: measured("168", "cm"), Kind: "standard", Text: "Along the board."},
	&GirthMeasured{Animal: marl, Girth: measured("104.5", "cm"), Where: "axillary", Text: "On breathing out."},
	&CoatScored{Animal: marl, Stage: "2", NewCoat: measured("30", "%"), Regions: []string{"flippers", "belly"}, Text: "Old coat lifts along the belly."},
	&EncounterSeen{
		Winner: marl, Loser: quillon, Draw: false, Signal: "displaced", Intensity: "low", Place: "deck", Cause: "gate",
		Enclosure: harbour, Watch: watch, Injury: true, Text: "A nick on the fore flipper.",
	},
	&WatchHeld{
		Watch: watch, Enclosure: harbour, Until: "2026-03-02T14:30:00Z", Method: "all_occurrences", Observer: "rk",
		Animals: []string{marl, quillon}, Text: "Wind from the south-west.",
	},
	&CompanyScanned{Enclosure: harbour, Groups: []Group{{[]string{marl}}, {[]string{quillon, osier}}}, Watch: watch, Rule: "within one body length"},
	&BehaviourPlanned{
		Behaviour: scan, Animal: marl, Name: "Ultrasound", Purpose: "care", Cue: "flat hand, palm down",
		Steps: []Step{
			{Step: "lies on her side", Met: 8, Of: 10, Sessions: 2, Hold: measured("20", "s"), Criterion: "whole side on the deck, head down"},
			{Step: "takes the probe", Hold: measured("2", "min")},
		},
		Text: "No gel before step 2.",
	},
	&SessionHeld{Session: session, Animal: marl, Until: "2026-03-02T15:25:00Z", Came: "at_once", Left: 1, Trainer: "rk", Text: "Gulls on the quay."},
	&TrialScored{
		Behaviour: scan, Animal: marl, Step: 1, Outcome: "met", Latency: measured("1.8", "s"), Held: measured("24", "s"),
		Reward: "two herring", Session: session, Trainer: "rk", Text: "Rolled over by herself.",
	},
	&BehaviourApproved{Behaviour: scan, Animal: marl, Text: "With two trainers."},
	&BehaviourDropped{Behaviour: scan, Animal: marl, Reason: "the probe is away for repair"},
	&EnrichmentOffered{Animals: []string{marl, quillon}, Item: "kelp rope", Sort: "object", Until: "2026-03-02T17:00:00Z", Use: "long", Text: "Quillon towed it."},
	&ChoiceMade{Animal: marl, Offered: []string{"kelp rope", "ice block", "whistle"}, Chosen: "ice block", Series: "spring-26"},
	&TouchNoted{Animal: marl, Region: "fore_flippers", Answer: "tolerates", With: "hand", Text: "Left better than right."},
	&CheckMade{
		Animal: marl, Regions: []string{"eyes", "flippers", "breathing"}, Text: "Before the first feed.",
		Findings: []Finding{{Region: "eyes", Word: "left eye half shut in the sun", Urgent: true}},
	},
	&VeterinaryNoted{Animal: marl, Veterinarian: "the colony's veterinarian", Text: "Seen at the poolside. Look again tomorrow.", Order: "order-31"},
	&MedicationGiven{Animal: marl, Medication: "eye drops", Dose: measured("0.1", "mL"), Route: "eye", Order: "order-31", Taken: "all", Text: "Left eye."},
	&WaterTested{
		Enclosure: harbour, Sample: "W-118", Repeat: "W-117", Method: "membrane filter", Text: "Taken at the inlet.",
		Readings: []WaterReading{{What: "temperature", Value: measured("11.4", "Cel")}, {What: "total_coliform", Value: measured("10", "{MPN}/dL"), Bound: "below"}},
	},
	&Note{Text: "The gate of the harbour pool sticks – “lift, then push”.", Animals: []string{marl}, Enclosure: harbour},
	&EntryCorrected{
		Entry: goldenID(goldenTime(15), 15), Type: "haulout.weight.taken.v1", Time: "2026-03-02T12:25:00Z", Reason: "the scale stood on the mat",
		Data: []byte(`{"animal":"` + marl + `","mass":{"unit":"kg","value":"82.0"},"scale":"deck-scale"}`),
	},
	&EntryWithdrawn{Entry: goldenID(goldenTime(18), 18), Reason: "that was Quillon", Instead: goldenID(goldenTime(17), 17)},
	&RuleSet{Rule: "thaw_hours", Value: measured("18", "h"), Reason: "the deck is warm in summer; agreed with the veterinarian"},
	&ThawCompleted{Lot: lotA, Thaw: goldenID(goldenTime(10), 10), Text: "No ice left inside."},
	&DietGuided{
		Animal: marl, Months: []string{"10", "11", "12"}, Reason: "agreed with the nutritionist for the winter",
		Items: []GuidedItem{{Food: herring, Least: measured("40", "%"), Most: measured("100", "%")}},
	},
	&SupplementDescribed{
		Supplement: "multi-2", Name: "Fish eater's tablet", Per: "{tablet}", Source: "the label, as of March 2026",
		Contents: []Content{{What: "thiamine", Amount: measured("100", "mg")}, {What: "vitamin_e", Amount: measured("125", "[iU]")}},
	},
	&CompanyJudged{Animals: []string{marl, osier}, Verdict: "watched", Reason: "two bites at the gate; decided with the veterinarian"},
	&PeriodBegun{Enclosure: harbour, Reason: "introduction", Text: "Osier joins."},
	&FindingClosed{Animal: marl, Check: goldenID(goldenTime(29), 29), Region: "eyes", Outcome: "healed", Text: "Both eyes open in the sun."},
	&OrderGiven{
		Order: "order-32", Animal: marl, Veterinarian: "the colony's veterinarian", Medication: "eye drops", Dose: measured("0.1", "mL"),
		Route: "eye", Daily: 3, Until: "2026-03-09T20:00:00Z", Text: "Left eye only.",
	},
	&OrderEnded{Order: "order-32", Animal: marl, Reason: "healed; decided by the veterinarian"},
	&CallAnswered{Call: "weigh-due.marl.2026-03-02", Answer: "put_off", Until: "2026-03-03T09:00:00Z", Reason: "the scale is at the workshop"},
	&DeviceReported{Waiting: 3, Oldest: "2026-03-02T13:05:00Z"},
}

func goldenTime(n int) time.Time {
	return time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC).Add(time.Duration(n) * 15 * time.Minute)
}

// kindFor finds the catalog's entry of a body.
func kindFor(t testing.TB, body Body) *kind {
	t.Helper()
	for i := range catalog {
		if fmt.Sprintf("*%v", catalog[i].shape) == fmt.Sprintf("%T", body) {
			return &catalog[i]
		}
	}
	t.Fatalf("no kind has the body %T", body)
	return nil
}

func goldenPath(wire string) string {
	return filepath.Join(goldenDir, KindName(wire), wire[strings.LastIndex(wire, ".v")+1:]+".json")
}

// tell makes the n-th golden record from its story.
func tell(t testing.TB, n int, previous Hash, counts map[string]uint64) Event {
	t.Helper()
	body := stories[n-1]
	k := kindFor(t, body)
	data, err := MakeData(body)
	if err != nil {
		t.Fatal(err)
	}
	draft := Draft{ID: goldenID(goldenTime(n), n), Type: k.wire(k.version()), Time: goldenTime(n).Format(time.RFC3339), Facility: "saltgarth", Data: data}
	e, err := draft.Fact()
	if err != nil {
		t.Fatalf("story %d: %v", n, err)
	}
	for _, animal := range e.Animals() {
		counts[animal]++
		e.Counts = append(e.Counts, Count{animal, counts[animal]})
	}
	e.Author, e.Device, e.Number, e.Previous = "rk", "deck-tablet-7f3a", uint64(n), previous
	e.Recorded = e.Time.Add(130*time.Second + 250*time.Millisecond)
	return e
}

// writeMissing writes the golden files that do not exist yet, and refuses where
// a story no longer tells what its file says.
func writeMissing(t *testing.T) {
	previous, counts := Hash{}, map[string]uint64{}
	for n := 1; n <= len(stories); n++ {
		e := tell(t, n, previous, counts)
		line, path := e.Encode(), goldenPath(e.Type)
		previous = LeafHash(line)
		switch old, err := os.ReadFile(path); {
		case err == nil && !bytes.Equal(old, line):
			t.Errorf("%s exists and says something else; golden files are never changed: write a new version", path)
		case err != nil:
			writeGolden(t, path, line)
		}
	}
}

func writeGolden(t *testing.T, path string, line []byte) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, line, 0o644); err != nil {
		t.Fatal(err)
	}
}

// golden reads every golden file, by wire name.
func golden(t testing.TB) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	err := filepath.WalkDir(goldenDir, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		line, err := os.ReadFile(path)
		out["haulout."+filepath.Base(filepath.Dir(path))+"."+strings.TrimSuffix(filepath.Base(path), ".json")] = line
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func decoded(t testing.TB, line []byte) Event {
	t.Helper()
	e, err := Decode(line)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// goldenDraft is the fact of a golden record, as its device sent it.
func goldenDraft(t testing.TB, name string) Draft {
	t.Helper()
	e := decoded(t, golden(t)["haulout."+name+".v1"])
	return Draft{ID: e.ID, Type: e.Type, Time: e.Time.Format(time.RFC3339Nano), Facility: e.Facility, Data: e.Data}
}

func TestEveryKindAndVersionHasAGoldenFile(t *testing.T) {
	if *update {
		writeMissing(t)
	}
	files := golden(t)
	for _, wire := range Types() {
		if files[wire] == nil {
			t.Errorf("%s has no golden file %s; tell its story and run go test -run Golden -update", wire, goldenPath(wire))
		}
	}
	for wire := range files {
		if !slices.Contains(Types(), wire) {
			t.Errorf("the golden file of %s belongs to no kind; kinds are never removed", wire)
		}
	}
}

func TestGoldenRecordsSurviveTheirReading(t *testing.T) {
	for wire, line := range golden(t) {
		t.Run(wire, func(t *testing.T) {
			e := decoded(t, line)
			if e.Type != wire {
				t.Errorf("holds a %s", e.Type)
			}
			k, _, err := kindOf(e.Type)
			if err != nil {
				t.Fatal(err)
			}
			if err := k.check(e.Body); err != nil {
				t.Errorf("its body is refused: %v", err)
			}
			if diff := cmp.Diff(string(line), string(e.Encode())); diff != "" {
				t.Errorf("written again it differs (-file +written):\n%s", diff)
			}
			if canonical, err := Canonical(line); err != nil || !bytes.Equal(canonical, line) {
				t.Errorf("is not canonical (%v):\n%s\n%s", err, line, canonical)
			}
		})
	}
}

// A body that is written by a program and read again is the same body.
func TestGoldenBodiesSurviveTheirWriting(t *testing.T) {
	for wire, line := range golden(t) {
		e := decoded(t, line)
		data, err := MakeData(e.Body)
		if err != nil {
			t.Fatal(err)
		}
		if TypeOf(KindName(wire)) == wire && !bytes.Equal(data, e.Data) {
			t.Errorf("%s: written again its data is\n%s\nand was\n%s", wire, data, e.Data)
		}
	}
}

func TestGoldenRecordsAreOneChain(t *testing.T) {
	var log []Event
	for _, line := range golden(t) {
		log = append(log, decoded(t, line))
	}
	slices.SortFunc(log, func(a, b Event) int { return int(a.Number) - int(b.Number) })
	previous, counts := Hash{}, map[string]uint64{}
	for i, e := range log {
		if e.Number != uint64(i+1) || e.Previous != previous {
			t.Errorf("%s is number %d after %s; wanted %d after %s", e.Type, e.Number, e.Previous, i+1, previous)
		}
		var want []Count
		for _, animal := range e.Animals() {
			counts[animal]++
			want = append(want, Count{animal, counts[animal]})
		}
		if diff := cmp.Diff(want, e.Counts); diff != "" {
			t.Errorf("%s counts its animals wrongly (-want +got):\n%s", e.Type, diff)
		}
		previous = LeafHash(e.Encode())
	}
}

// CloudEvents 1.0.2, section "Context Attributes": id, source and type are
// texts that are not empty, specversion is 1.0, source is a URI reference,
// time is RFC 3339, and attribute names are lower-case letters and digits, 20
// of them at most. The extensions recordedtime and sequence follow their own
// documents: recordedtime is not before time, and sequence sorts as a text.
func TestGoldenRecordsAreCloudEvents(t *testing.T) {
	attribute := regexp.MustCompile(`^[a-z0-9]{1,20}$`)
	for wire, line := range golden(t) {
		t.Run(wire, func(t *testing.T) {
			record := object(t, line)
			for name, value := range record {
				if !attribute.MatchString(name) {
					t.Errorf("%q is no attribute name", name)
				}
				if text, ok := value.(string); name != "data" && (!ok || text == "") {
					t.Errorf("%s is %v; an attribute is a text with something in it", name, value)
				}
			}
			for _, name := range []string{"id", "source", "specversion", "type", "time", "recordedtime", "sequence", "datacontenttype", "data"} {
				if record[name] == nil {
					t.Errorf("%s is missing", name)
				}
			}
			if record["specversion"] != "1.0" || record["datacontenttype"] != "application/json" {
				t.Errorf("is version %v with %v", record["specversion"], record["datacontenttype"])
			}
			if _, err := url.Parse(record["source"].(string)); err != nil {
				t.Errorf("source: %v", err)
			}
			at, err := time.Parse(time.RFC3339, record["time"].(string))
			recorded, err2 := time.Parse(time.RFC3339, record["recordedtime"].(string))
			if err != nil || err2 != nil || recorded.Before(at) {
				t.Errorf("happened %v, recorded %v", record["time"], record["recordedtime"])
			}
			if len(line) > 64<<10 {
				t.Errorf("has %d bytes; consumers are sure to take 65536", len(line))
			}
		})
	}
}

func TestSequencesSortAsTexts(t *testing.T) {
	var last string
	for _, n := range []uint64{1, 9, 10, 42, 999, 20_000_000, 9_999_999_999} {
		e := Event{Number: n, Data: []byte("{}")}
		sequence := object(t, e.Encode())["sequence"].(string)
		if sequence <= last {
			t.Errorf("%s sorts before %s", sequence, last)
		}
		if got, err := strconv.ParseUint(sequence, 10, 64); err != nil || got != n {
			t.Errorf("%s is not %d", sequence, n)
		}
		last = sequence
	}
}

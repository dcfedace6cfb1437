package web_test

import (
	"encoding/json"
	"fmt"
	"html"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"haulout/events"
	"haulout/projections"
	"haulout/web"
)

// four puts Thrift and Teasel beside Marl and Osier.
func (c *colony) four() {
	c.settle()
	c.enter("thrift", "Thrift", 5, "2019-06-01", "2026-01-02T09:06:00Z")
	c.enter("teasel", "Teasel", 7, "2021-06-01", "2026-01-02T09:07:00Z")
}

// meets records so many encounters of two, one a day from a day on.
func (c *colony) meets(winner, loser string, times int, from string) {
	c.t.Helper()
	first, err := time.Parse(time.RFC3339, from+"T10:00:00Z")
	if err != nil {
		c.t.Fatal(err)
	}
	for day := range times {
		c.yields(loser, winner, first.AddDate(0, 0, day).Format(time.RFC3339), events.EncounterSeen{Signal: "displaced", Place: "deck"})
	}
}

var ranks = []string{"marl", "osier", "thrift", "teasel"}

// straight lets every animal win over each below it.
func (c *colony) straight(times int, from string) {
	for i, winner := range ranks {
		for _, loser := range ranks[i+1:] {
			c.meets(winner, loser, times, from)
		}
	}
}

func (c *colony) judge(verdict string, animals ...string) {
	c.record("saltgarth", "rhona", "company.judged", "2026-06-10T12:00:00Z", &events.CompanyJudged{Animals: animals, Verdict: verdict, Reason: "decided with the veterinarian."})
}

const longPool = "/colony/saltgarth/long"

func TestASupportedOrderNamesWhoIsInCharge(t *testing.T) {
	c := newColony(t)
	c.four()
	c.straight(8, "2026-06-01")
	page := c.page(longPool, 200)
	wants(t, page, "Who gives way in Long Pool", "Marl leads, then Osier, Thrift and Teasel. The order is supported",
		"Passed: 10 encounters an animal or more, at most a quarter of pairs unseen, and every neighbour at least 8 in 10 sure.",
		"Encounters that count 48", "Marl over Osier, 8 to 0 over 99 in 100", "6 of 6 pairs were seen to meet. None goes against the order.",
		"Marl · 8 8 8 Osier 0 · 8 8", "No figure for linearity: with 4 animals even a perfect order comes about by chance 38 times in 100.",
		projections.CompanyCaution, "Chance that the upper of two wins more often")
	said, rests, _ := strings.Cut(page, `id="order-rests"`) // sources are quoted as they are
	wants(t, rests, "Encounters an animal, below which an order is provisional 10 encounters", "to be verified")
	for _, bad := range []string{"significant", "p = "} {
		if strings.Contains(said, bad) {
			t.Errorf("the page says %q", bad)
		}
	}
	ladder := between(t, page, `aria-labelledby="ladder-desk-t`, "</svg>")
	if strings.Count(ladder, `class="dot"`) != 4 || strings.Contains(ladder, "url(#hatch)") || strings.Contains(ladder, "bracket") {
		t.Errorf("the ladder: %s", ladder)
	}
	wants(t, c.page("/colony", 200), "1 enclosure with two animals or more: 1 with a supported order, 0 with a provisional one, 0 with none yet.", "Supported", "Marl 1st", "Teasel 4th", "1 animal has no enclosure on record.")
}

func TestAProvisionalOrderSaysWhatIsMissing(t *testing.T) {
	c := newColony(t)
	c.four()
	c.straight(8, "2026-06-01")
	c.meets("teasel", "thrift", 8, "2026-05-01")
	page := c.page(longPool, 200)
	wants(t, page, "Marl leads, then Osier. Below that no place is sure. The order is provisional: Teasel and Thrift can't be told apart yet.",
		"Keeps it provisional: Teasel and Thrift can't be told apart yet.", "To watch next", "8 to 8", "Teasel and Thrift have the same score; their names alone put one before the other.")
	if ladder := between(t, page, `aria-labelledby="ladder-phone-t`, "</svg>"); !strings.Contains(ladder, `class="bracket level"`) {
		t.Errorf("no bracket: %s", ladder)
	}
	wants(t, c.page("/colony", 200), "Provisional", "Osier 2nd", "3rd to 4th")
}

func TestNeighboursNeverSeenToMeetAreDashed(t *testing.T) {
	c := newColony(t)
	c.four()
	for _, pair := range [][2]string{{"marl", "osier"}, {"marl", "thrift"}, {"marl", "teasel"}, {"osier", "thrift"}, {"osier", "teasel"}} {
		c.meets(pair[0], pair[1], 12, "2026-06-01")
	}
	page := c.page(longPool, 200)
	wants(t, page, "5 of 6 pairs were seen to meet", "unseen", "never seen to meet", "Pairs never seen to meet 1 of 6")
	if ladder := between(t, page, `aria-labelledby="ladder-desk-t`, "</svg>"); !strings.Contains(ladder, `class="bracket unmet"`) {
		t.Errorf("no dashed bracket: %s", ladder)
	}
}

func TestNoOrderYetListsWhatToWatch(t *testing.T) {
	c := newColony(t)
	c.four()
	c.meets("marl", "osier", 2, "2026-06-01")
	page := c.page(longPool, 200)
	wants(t, page, "No order yet. No decided encounter of Teasel, Thrift; 5 of 6 pairs that lived together were never seen to meet; no chain of encounters links all animals.",
		"Allows no order: no decided encounter of Teasel, Thrift.", "To watch next", "Marl and Teasel: together but never seen to meet")
	ladder := between(t, page, `aria-labelledby="ladder-desk-t`, "</svg>")
	if strings.Contains(ladder, `class="dot"`) || strings.Count(ladder, "url(#hatch)") != 4 {
		t.Errorf("a ladder of nobody knows what: %s", ladder)
	}
	wants(t, c.page("/colony", 200), "1 with none yet", "No order yet", "not known")
}

func TestASmallCompanyIsSaidInASentence(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.meets("marl", "osier", 5, "2026-06-01")
	c.meets("osier", "marl", 2, "2026-06-10")
	two := c.page(longPool, 200)
	wants(t, two, "Marl over Osier, 5–2", "Marl · 5 Osier 2 ·")
	if strings.Contains(two, "ladder-desk") {
		t.Error("two animals have a ladder")
	}
	c.record("saltgarth", "rhona", "enclosure.described", "2026-01-01T08:01:00Z", &events.EnclosureDescribed{Enclosure: "cove", Name: "Cove"})
	c.record("saltgarth", "rhona", "animal.placed", "2026-06-16T08:01:00Z", &events.AnimalPlaced{Animal: "osier", Enclosure: "cove"})
	wants(t, c.page(longPool, 200), "Marl is alone in this group; one animal has no order.", "1 animal of Saltgarth")
	wants(t, c.page("/colony", 200), "No enclosure has two animals or more.", "Osier is alone in Cove and Marl is alone in Long Pool.")
	c.record("saltgarth", "rhona", "animal.placed", "2026-06-16T08:02:00Z", &events.AnimalPlaced{Animal: "marl", Enclosure: "cove"})
	wants(t, c.page(longPool, 200), "This group has no animals.")
	wants(t, c.page("/colony/saltgarth/cove", 200), "Marl and Osier were not seen to meet", "No encounter that counts was seen in this window")
	wants(t, newColony(t).page("/colony", 200), "No facility is open yet.")
}

func TestWhatGoesAgainstTheOrderIsFramedAndSaid(t *testing.T) {
	c := newColony(t)
	c.four()
	c.straight(8, "2026-06-01")
	c.meets("teasel", "marl", 10, "2026-05-01")
	page := c.page(longPool, 200)
	wants(t, page, "In 1 pair the lower one wins more often. Against the order: Teasel over Marl, 10 to 8.", "10 against")
	if !strings.Contains(page, `class="win con"`) {
		t.Error("nothing is framed")
	}
}

func TestAPairThatTurnedIsShownWithItsEncounters(t *testing.T) {
	c := newColony(t)
	c.four()
	c.straight(8, "2026-04-01")
	for day := range 3 {
		c.yields("thrift", "teasel", fmt.Sprintf("2026-06-%02dT10:00:00Z", 13+day), events.EncounterSeen{Signal: "lunge", Place: "food", Injury: day == 2})
	}
	page := c.page(longPool, 200)
	wants(t, page, "1 pair has turned and 1 encounter with an injury in the last 7 days.", "Teasel now wins over Thrift",
		"3 to 0 since 21 May; before, 0 to 8. 9 in 10 that it stays so.", "15 Jun 11:00 Thrift yielded to Teasel over food, lunge, injury (tell the veterinarian) rhona",
		"Every injury goes to the veterinarian.", "Nobody watched with known effort since 29 January")
	lines := between(t, page, `aria-labelledby="ratings-desk-t`, "</svg>")
	if strings.Count(lines, `class="seen thick"`) != 1 || strings.Count(lines, "url(#hatch)") != 2 {
		t.Errorf("the rating lines: %s", lines)
	}
	wants(t, page, "No encounter was noted from 18 Jun to 31 Mar and 9 Apr to 12 Jun.")
	wants(t, c.page("/colony", 200), "Teasel now wins over Thrift, 3 to 0 since 21 May", "Injuries")
}

func TestThoseToBeKeptApartAreLoudWhereTheyLiveTogether(t *testing.T) {
	c := newColony(t)
	c.four()
	c.judge("apart", "marl", "osier")
	c.judge("watched", "thrift", "teasel")
	for _, path := range []string{"/colony", longPool} {
		page := c.page(path, 200)
		wants(t, page, "Part them Marl and Osier are to be kept apart, and both live in Long Pool. Decided on 10 June 2026 by rhona: decided with the veterinarian.",
			"Watch Teasel and Thrift may be together only while somebody watches, and both live in Long Pool.")
		if strings.Count(page, `role="alert"`) != 1 {
			t.Errorf("%s: one pair is to be parted", path)
		}
	}
	c.record("saltgarth", "rhona", "enclosure.described", "2026-01-01T08:01:00Z", &events.EnclosureDescribed{Enclosure: "cove", Name: "Cove"})
	c.record("saltgarth", "rhona", "animal.placed", "2026-06-16T08:01:00Z", &events.AnimalPlaced{Animal: "osier", Enclosure: "cove"})
	page := c.page(longPool, 200)
	wants(t, page, "To be kept apart: Marl and Osier.", "Marl and Osier , Long Pool and Cove", "Of 3 pairs that live here together nothing was decided about 2.")
	if strings.Contains(page, `role="alert"`) {
		t.Error("still loud though they are parted")
	}
}

func TestScansDrawWhoIsSeenBesideWhom(t *testing.T) {
	c := newColony(t)
	c.four()
	wants(t, c.page(longPool, 200), "Nobody scanned Long Pool in this window")
	for day := range 4 {
		groups := []events.Group{{Animals: []string{"marl", "osier"}}, {Animals: []string{"thrift"}}}
		c.record("saltgarth", "rhona", "company.scanned", fmt.Sprintf("2026-06-%02dT10:00:00Z", 10+day), &events.CompanyScanned{Enclosure: "long", Groups: groups})
	}
	page := c.page(longPool, 200)
	wants(t, page, "Marl and Osier were seen together most: in 1.00 of the looks that saw either", "4 scans on 4 days", "Marl and Osier 1.00", "4 of 4",
		"not who likes whom", "Marl and Thrift 0.00")
	if net := between(t, page, `aria-labelledby="network-desk-t`, "</svg>"); strings.Count(net, `class="tie`) != 1 || strings.Count(net, `class="tb`) != 4 {
		t.Errorf("the network: %s", net)
	}
}

func TestTwoWindowsStandSideBySide(t *testing.T) {
	c := newColony(t)
	c.four()
	c.straight(10, "2026-02-01")
	c.record("saltgarth", "rhona", "period.begun", "2026-04-01T00:00:00Z", &events.PeriodBegun{Enclosure: "long", Reason: "season", Text: "summer begins."})
	for i, winner := range ranks {
		for _, loser := range ranks[:i] {
			c.meets(winner, loser, 10, "2026-05-01")
		}
	}
	page := c.page(longPool, 200)
	wants(t, page, "A period began on 1 April 2026: season, summer begins.", "Teasel leads, then Thrift, Osier and Marl.", "Compare with 13 January to 31 March 2026", "shown here")
	offered := html.UnescapeString(between(t, page, `<a class="btn" href="`+longPool, `"`))
	offered, _, _ = strings.Cut(offered, "#")
	wants(t, c.page(longPool+offered, 200), "Teasel and Thrift rose; Osier and Marl fell.",
		"Teasel 4th 4th 0 to 30 1st 1st 30 to 0 rose", "Then, 13 January to 31 March 2026", "Now, 1 April to 17 June 2026")
	wants(t, c.page(longPool+"?with_from=2026-01-20&with_to=2026-01-25", 200), "Then: no order yet. Now: supported.")
}

func TestAnOrderAsItWasBelieved(t *testing.T) {
	c := newColony(t)
	c.four()
	c.straight(8, "2026-06-01")
	page := c.page(longPool+"?as_of=2026-06-01", 200)
	wants(t, page, "This is what was believed at the end of Mon 1 June 2026.", "Encounters that count 6")
	if strings.Contains(page, `class="ask write-form`) {
		t.Error("something can be decided in the past")
	}
}

// formBodies fills in the forms of a page as a lead does, and gives the facts.
func formBodies(t *testing.T, page string) (out []events.Draft) {
	t.Helper()
	values := map[string]string{"verdict": "watched", "reason": "other", "text": "new gate"}
	for part := range strings.SplitSeq(page, `<form class="ask write-form`) {
		kind, rest, found := strings.Cut(strings.TrimPrefix(part, ` noprint" data-kind="`), `"`)
		if !found || !strings.HasPrefix(kind, "haulout.") {
			continue
		}
		form, _, _ := strings.Cut(rest, "</form>")
		data := map[string]any{}
		if _, after, ok := strings.Cut(form, `data-body="`); ok {
			raw, _, _ := strings.Cut(after, `"`)
			if err := json.Unmarshal([]byte(html.UnescapeString(raw)), &data); err != nil {
				t.Fatal(err)
			}
		}
		for name, value := range values {
			if strings.Contains(form, ` name="`+name+`"`) {
				data[name] = value
			}
		}
		if strings.Count(form, `name="animals[]"`) == 2 {
			data["animals"] = []string{"marl", "osier"}
		}
		raw, err := json.Marshal(data)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, events.Draft{ID: "0198c0de-0000-7000-8000-00000000ffff", Type: kind, Time: "2026-06-17T12:00:00Z", Facility: "saltgarth", Data: raw})
	}
	return out
}

func TestALeadDecidesOnThePage(t *testing.T) {
	c := newColony(t)
	c.four()
	c.record("saltgarth", "rhona", "period.begun", "2026-03-01T00:00:00Z", &events.PeriodBegun{Enclosure: "long", Reason: "other"})
	c.enter("sorrel", "Sorrel", 3, "2020-06-01", "2026-06-08T09:00:00Z")
	page := c.page(longPool, 200)
	wants(t, page, "8 June 2026 : Sorrel joined (introduction)")
	if !strings.Contains(page, `data-when="" value="2026-06-08T00:00"`) || !strings.Contains(page, `data-zone="Europe/Dublin"`) {
		t.Error("the day of the change is not offered")
	}
	var got []string
	for _, draft := range formBodies(t, page) {
		if _, err := draft.Fact(); err != nil {
			t.Errorf("%s %s: %v", draft.Type, draft.Data, err)
		}
		got = append(got, draft.Type+" "+string(draft.Data))
	}
	want := []string{
		`haulout.company.judged.v1 {"animals":["marl","osier"],"reason":"other","verdict":"watched"}`,
		`haulout.period.begun.v1 {"enclosure":"long","reason":"introduction","text":"Sorrel joined"}`,
		`haulout.period.begun.v1 {"enclosure":"long","reason":"other","text":"new gate"}`,
	}
	if !slices.Equal(got, want) {
		t.Errorf("the forms make %q, want %q", got, want)
	}
	c.visitor.Records = false
	if page := c.page(longPool, 200); strings.Contains(page, `class="ask write-form`) {
		t.Error("who may not record is asked to")
	}
}

func TestWhatCantBeReadIsAnsweredByItsField(t *testing.T) {
	c := newColony(t)
	c.four()
	for query, say := range map[string]string{
		"from=tomorrow":                             "from",
		"to=1+June":                                 "write it as 2026-03-01",
		"to=2027-01-01":                             "Give to a day up to 2026-06-17",
		"from=2026-06-02&to=2026-06-01":             "Give from a day up to 2026-06-01",
		"method=guess":                              "Give method one of david, david_pij, abilities, ratings, isi",
		"animal=nobody":                             "Give animal the id of one that lived here",
		"with_from=2026-01-01":                      "Give both with_from and with_to",
		"with_from=x&with_to=2026-01-01":            "with_from",
		"with_from=2026-02-01&with_to=2026-01-01":   "Give with_from a day up to 2026-01-01",
		"as_of=2027-01-01":                          "Give as_of a day up to today",
		"from=2026-06-10&as_of=2026-06-01":          "Give from a day up to 2026-06-01",
		"from=2026-01-01&to=2026-02-30&method=isi1": "to",
	} {
		wants(t, c.page(longPool+"?"+query, 400), say)
	}
	wants(t, c.page("/colony/saltgarth/moon", 404), "No enclosure has the id moon")
	wants(t, c.page("/colony/nowhere/long", 404), "No facility has the code nowhere")
	wants(t, c.page("/colony?facility=nowhere", 404), "No facility has the code nowhere")
}

func TestEveryMethodAndChosenAnimalHasItsPage(t *testing.T) {
	c := newColony(t)
	c.four()
	c.straight(8, "2026-06-01")
	for _, method := range projections.OrderMethods {
		page := c.page(longPool+"?method="+method+"&animal=teasel&from=2026-05-01&to=2026-06-17", 200)
		wants(t, page, "Marl leads, then Osier, Thrift and Teasel.", "1 May to 17 June 2026")
		if lines := between(t, page, `aria-labelledby="ratings-phone-t`, "</svg>"); !strings.Contains(lines, `class="tb" x="`) {
			t.Errorf("%s: nobody is chosen: %s", method, lines)
		}
	}
}

func TestNamesAreTextOnThePageAndInDrawings(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.record("saltgarth", "rhona", "enclosure.described", "2026-01-01T08:01:00Z", &events.EnclosureDescribed{Enclosure: "cove", Name: `<b id="x">Cove & "gate"`})
	for i, name := range []string{`<script>alert(1)</script>`, `"&'</svg>`, "Sorrel", "Sorrel"} {
		id := fmt.Sprintf("odd-%d", i)
		c.enter(id, name, i+1, "2020-06-01", "2026-01-02T09:00:00Z")
		c.record("saltgarth", "rhona", "animal.placed", "2026-01-03T09:00:00Z", &events.AnimalPlaced{Animal: id, Enclosure: "cove"})
	}
	for i := range 4 {
		for j := range i {
			c.record("saltgarth", "rhona", "encounter.seen", "2026-06-01T10:00:00Z", &events.EncounterSeen{Winner: fmt.Sprintf("odd-%d", j), Loser: fmt.Sprintf("odd-%d", i), Enclosure: "cove"})
		}
	}
	wants(t, c.page("/colony/saltgarth/cove", 200), `Who gives way in <b id="x">Cove & "gate"`, "<script>alert(1)</script>", `"&'</svg>`, "Sorrel (odd-2)", "Sorrel (odd-3)")
	wants(t, c.page("/colony", 200), `<b id="x">Cove & "gate"`, "<script>alert(1)</script>")
}

func TestTheColonyOfAVisitorIsOfTheirFacilities(t *testing.T) {
	c := newColony(t)
	c.four()
	c.straight(8, "2026-06-01")
	c.visitor = web.Visitor{Name: "Odo", SignedIn: true, Facilities: []string{"tern-sluice"}}
	page := c.page("/colony", 200)
	wants(t, page, "Tern Sluice")
	if strings.Contains(page, "Marl") || strings.Contains(page, "Saltgarth") {
		t.Error("a visitor sees another facility's company")
	}
	wants(t, c.page(longPool, 404), "No facility has the code saltgarth")
	c.page("/colony?facility=saltgarth", 404)
}

// year is a group of twelve that met six times a day for a year.
func (c *colony) year() {
	c.settle()
	dice, ids := rand.New(rand.NewPCG(3, 4)), []string{"marl", "osier"}
	for i := range 10 {
		ids = append(ids, fmt.Sprintf("other-%d", i))
		c.enter(ids[i+2], fmt.Sprintf("Other %d", i), i%8+1, "2019-06-01", "2025-06-01T09:00:00Z")
	}
	day := time.Date(2025, 6, 18, 8, 0, 0, 0, time.UTC)
	for n := range 365 * 6 {
		i, j := dice.IntN(12), dice.IntN(11)
		if j >= i {
			j++
		}
		if dice.IntN(10) > 1 && j < i {
			i, j = j, i
		}
		c.yields(ids[j], ids[i], day.Add(time.Duration(n)*4*time.Hour).Format(time.RFC3339), events.EncounterSeen{Signal: "displaced"})
		if n%42 == 0 {
			c.record("saltgarth", "rhona", "company.scanned", day.Add(time.Duration(n)*4*time.Hour).Format(time.RFC3339), &events.CompanyScanned{Enclosure: "long", Groups: []events.Group{{Animals: ids[:4]}, {Animals: ids[4:]}}})
		}
	}
}

// slowest is the processor time that 99 of 100 answers keep: with the machine to
// itself an answer takes no longer than that, since what it waits for lies in
// memory. Each is asked for again until it comes within the limit, since other
// work on the machine slows the processor too; an answer that is too slow never
// does.
func slowest(t testing.TB, h http.Handler, path string, limit time.Duration) time.Duration {
	took := make([]time.Duration, 100)
	for i := range took {
		took[i] = time.Hour
		for try := 0; try < 20 && took[i] > limit; try++ {
			w, r := httptest.NewRecorder(), httptest.NewRequest(http.MethodGet, path, nil)
			from := processor(t)
			h.ServeHTTP(w, r)
			took[i] = min(took[i], processor(t)-from)
			if w.Code != http.StatusOK {
				t.Fatalf("GET %s: %d", path, w.Code)
			}
		}
	}
	slices.Sort(took)
	return took[98]
}

// processor is the time that this process has had of all cores.
func processor(t testing.TB) time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		t.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func TestAYearOfTwelveAnimalsIsAnsweredInTwentyMilliseconds(t *testing.T) {
	c := newColony(t)
	c.year()
	const limit = 20 * time.Millisecond
	if page := c.page(longPool, 200); !strings.Contains(page, `class="matrix tall"`) || strings.Count(between(t, page, `aria-labelledby="ratings-desk-t`, "</svg>"), `class="seen`) != 12 {
		t.Error("twelve animals have no table with upright names, or not a line each")
	}
	took := slowest(t, c.handler(), longPool+"?from=2025-06-18&to=2026-06-17", limit)
	if t.Log(took); took > limit {
		t.Errorf("99 of 100 answers take up to %v", took)
	}
}

package web_test

import (
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"haulout/events"
)

func TestAnAnimalsPageSumsUpTheSevenDaysBeforeToday(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.week()
	wants(t, c.page("/animals/marl", 200),
		"Female California sea lion, 6 years, born 9 June 2020. Saltgarth, Long Pool with Osier.",
		"Ate 24.6 of 27.6 kg offered in the 7 days to Tue 16 June, 6 of 7 days logged.",
		"today 1.9 of 4.6 kg",
		"Last 87.9 kg on 9 June 2026, dry. 5 weights in the last 180 days, from 87.9 to 88.9 kg.",
		"Not logged: 4 June, 5 June, 6 June, 7 June, 8 June, 9 June and 13 June.",
	)
}

func TestUnderThreeLoggedDaysNothingIsSummedUp(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.feed("marl", "2026-06-15T09:00:00Z", "4.6", "4.1")
	c.feed("marl", "2026-06-16T09:00:00Z", "4.6", "4.1")
	wants(t, c.page("/animals/marl", 200), "2 of 7 days logged in the 7 days to Tue 16 June. Too little to sum up.")
}

func TestADayThatIsNotLoggedIsHatchedAndNeverZero(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.week()
	page := c.page("/animals/marl", 200)
	phone := between(t, page, `aria-labelledby="feeding-phone-t`, "</svg>")
	// Of 14 days to 17 June, 4 to 9 June and 13 June have no feed; today is open.
	if got := strings.Count(phone, `fill="url(#hatch)"`); got != 7 {
		t.Errorf("%d hatched days, want 7", got)
	}
	if got := strings.Count(phone, `class="bar`); got != 7 {
		t.Errorf("%d bars, want 7", got)
	}
	if got := strings.Count(phone, `class="refused"`); got != 7 {
		t.Errorf("%d refused parts, want 7", got)
	}
	table := between(t, page, `<details class="data" id="days">`, "</details>")
	row := between(t, table, "Sat 13\u00a0Jun", "</tr>")
	if !strings.Contains(row, "not logged") || strings.Contains(row, "0.0") {
		t.Errorf("13 June stands as %q", row)
	}
}

func between(t *testing.T, s, from, to string) string {
	t.Helper()
	_, rest, ok := strings.Cut(s, from)
	out, _, closed := strings.Cut(rest, to)
	if !ok || !closed {
		t.Fatalf("nothing between %q and %q", from, to)
	}
	return out
}

// TestEveryChartCanBeReadWithoutSeeingIt wants a title, a description and a
// table of the same numbers for each.
func TestEveryChartCanBeReadWithoutSeeingIt(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.week()
	page := c.page("/animals/marl", 200)
	charts := 0
	for d := decoder(page); ; {
		token, err := d.Token()
		if err != nil {
			break
		}
		el, ok := token.(xml.StartElement)
		if !ok || el.Name.Local != "svg" || !has(el, "role", "img") {
			continue
		}
		charts++
		var chart struct {
			Title string `xml:"title"`
			Desc  string `xml:"desc"`
		}
		if err := d.DecodeElement(&chart, &el); err != nil {
			t.Fatal(err)
		}
		if chart.Title == "" || len(chart.Desc) < 20 {
			t.Errorf("a chart with the title %q and the description %q", chart.Title, chart.Desc)
		}
	}
	if charts != 8 {
		t.Errorf("%d charts, want two sizes of four", charts)
	}
	if tables := strings.Count(page, `<details class="data"`); tables != 7 {
		t.Errorf("%d tables behind charts and figures, want 4 of charts and 3 of what they rest on", tables)
	}
}

func has(el xml.StartElement, name, value string) bool {
	for _, a := range el.Attr {
		if a.Name.Local == name && a.Value == value {
			return true
		}
	}
	return false
}

func TestFourWeightsGetNoLine(t *testing.T) {
	c := newColony(t)
	c.settle()
	for _, day := range []string{"01", "05", "09", "12"} {
		c.record("saltgarth", "rhona", "weight.taken", "2026-06-"+day+"T08:00:00Z", &events.WeightTaken{Animal: "marl", Mass: kg("88.1"), Coat: "dry"})
	}
	page := c.page("/animals/marl", 200)
	wants(t, page, "Under 5 weights no line is drawn.")
	if strings.Contains(page, `class="seen"`) {
		t.Error("a line from four weights")
	}
	c.record("saltgarth", "rhona", "weight.taken", "2026-06-14T08:00:00Z", &events.WeightTaken{Animal: "marl", Mass: kg("88.0"), Coat: "dry"})
	if page := c.page("/animals/marl", 200); strings.Count(page, `class="seen"`) != 2 {
		t.Error("five weights have no line")
	}
}

func TestNoLineCrossesALongGap(t *testing.T) {
	c := newColony(t)
	c.settle()
	for _, day := range []string{"03-01", "03-08", "03-15", "05-20", "05-27", "06-03"} {
		c.record("saltgarth", "rhona", "weight.taken", "2026-"+day+"T08:00:00Z", &events.WeightTaken{Animal: "marl", Mass: kg("88.1"), Coat: "dry"})
	}
	desk := between(t, c.page("/animals/marl", 200), `id="weights-desk-t"`, "</svg>")
	line := between(t, desk, `class="seen" d="`, `"`)
	if got := strings.Count(line, "M"); got != 2 {
		t.Errorf("the line %q has %d parts, want 2", line, got)
	}
}

func TestACorrectedWeightShowsBothValues(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.week()
	id := c.record("saltgarth", "odo", "weight.taken", "2026-06-16T09:32:00Z", &events.WeightTaken{Animal: "marl", Mass: kg("47.3"), Coat: "dry"})
	data, err := events.MakeData(&events.WeightTaken{Animal: "marl", Mass: kg("87.3"), Coat: "dry"})
	if err != nil {
		t.Fatal(err)
	}
	c.record("saltgarth", "rhona", "entry.corrected", "2026-06-16T10:00:00Z", &events.EntryCorrected{Entry: id, Data: data, Reason: "slip of the hand"})
	page := c.page("/animals/marl", 200)
	if row := between(t, page, "Tue 16\u00a0Jun\u00a02026", "</tr>"); !strings.Contains(row, "<del>47.3") || !strings.Contains(row, "<b>87.3</b>") {
		t.Errorf("the table says %q", row)
	}
	if !strings.Contains(between(t, page, `id="weights-desk-t"`, "</svg>"), `class="cross"`) {
		t.Error("the chart does not mark the value before the correction")
	}
	entry := between(t, page, "<del>Weight 47.3", "</li>")
	for _, part := range []string{"Weight 87.3", "Reason: slip of the hand, rhona"} {
		if !strings.Contains(strings.ReplaceAll(entry, "\u00a0", " "), part) {
			t.Errorf("the entry lacks %q: %s", part, entry)
		}
	}
}

// TestASlipOfADigitDoesNotFlattenTheChart keeps the scale with the weights that
// count; the slip is named at the edge.
func TestASlipOfADigitDoesNotFlattenTheChart(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.week()
	id := c.record("saltgarth", "odo", "weight.taken", "2026-06-16T09:32:00Z", &events.WeightTaken{Animal: "marl", Mass: kg("879"), Coat: "dry"})
	data, err := events.MakeData(&events.WeightTaken{Animal: "marl", Mass: kg("87.9"), Coat: "dry"})
	if err != nil {
		t.Fatal(err)
	}
	c.record("saltgarth", "odo", "entry.corrected", "2026-06-16T10:00:00Z", &events.EntryCorrected{Entry: id, Data: data, Reason: "a digit too many"})
	chart := between(t, c.page("/animals/marl", 200), `id="weights-desk-t"`, "</div>")
	if !strings.Contains(chart, "▲ 879\u00a0kg") || !strings.Contains(chart, "The scale starts at 87.5 kg.") {
		t.Errorf("the chart is %s", chart)
	}
}

func TestAWithdrawnEntryStaysReadable(t *testing.T) {
	c := newColony(t)
	c.settle()
	id := c.feed("marl", "2026-06-17T09:00:00Z", "1.0", "1.0")
	c.record("saltgarth", "rhona", "entry.withdrawn", "2026-06-17T09:30:00Z", &events.EntryWithdrawn{Entry: id, Reason: "wrong animal"})
	page := c.page("/animals/marl", 200)
	wants(t, page, "Fed Herring 1.0 kg withdrawn Reason: wrong animal, rhona", "not logged in 42 days")
}

func TestAnEarlierDayShowsWhatWasBelievedThen(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.week()
	page := c.page("/animals/marl?as_of=2026-06-11", 200)
	wants(t, page, "This is what was believed at the end of Thu 11 June 2026. What came in later is left out.",
		"2 of 7 days logged in the 7 days to Thu 11 June.")
	if strings.Contains(page, "16\u00a0June") {
		t.Error("the page knows of later days")
	}
	if !strings.Contains(page, `href="/animals/marl/days.csv?as_of=2026-06-11"`) {
		t.Error("the table behind it is not of that day")
	}
	wants(t, c.page("/animals/marl?as_of=2025-12-24", 404), "Marl was not on record yet")
	wants(t, c.page("/animals/marl?as_of=yesterday", 400), "The day can't be read", "write it as 2026-03-01")
	wants(t, c.page("/animals/marl?as_of=2026-06-18", 400), "The day is still to come")
	wants(t, c.page("/animals/marl?as_of=2026-06-17", 200), "that day 1.9 of 4.6 kg")
}

func TestOlderEntriesArePagedThrough(t *testing.T) {
	c := newColony(t)
	c.settle()
	for range 40 {
		c.feed("marl", "2026-06-17T09:00:00Z", "0.1", "0.1")
	}
	page := c.page("/animals/marl", 200)
	older := "/animals/marl?" + strings.ReplaceAll(between(t, page, `<a class="btn" href="/animals/marl?`, `#entries`), "&amp;", "&")
	wants(t, c.page(older, 200), "Older ones.", "Entered as Marl, birth")
	wants(t, c.page("/animals/marl?before=nonsense", 400), "The entries can't be listed")
}

func TestAnAnimalsPageNamesItsMarksAndStays(t *testing.T) {
	c := newColony(t)
	c.settle()
	wants(t, c.page("/animals/marl", 200), "tag =SUM(A1) left flipper 2 January 2026", "Saltgarth 2 January 2026 birth now Long Pool from 2 January 2026")
	wants(t, c.page("/animals/gorse", 200), "Odobenus imaginarius, about 11 to 12 years, born about 2014. Tern Sluice.", "No mark on record.", "No weight on record.")
}

func TestTablesAsFilesRunNoFormula(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.enter("plus", "+Plus", 3, "2020", "2026-03-01T08:00:00Z")
	c.feed("plus", "2026-06-16T09:00:00Z", "1.5", "1.25")
	c.record("saltgarth", "rhona", "weight.taken", "2026-06-16T08:00:00Z", &events.WeightTaken{Animal: "plus", Mass: events.Quantity{Value: "150", Unit: "[lb_av]"}})
	days, err := csv.NewReader(strings.NewReader(c.get("/animals/plus/days.csv", 200))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(days[1], "|"); got != "'+Plus|2026-06-16|1|1.5|1.25|0.25|1875||Herring 1.25|rhona|0" {
		t.Errorf("the day reads %s", got)
	}
	weights, err := csv.NewReader(strings.NewReader(c.get("/animals/plus/weights.csv", 200))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	// 150 lb at 0.45359237 kg (exact by definition, UCUM [lb_av]).
	if got := strings.Join(weights[1][:5], "|"); got != "'+Plus|2026-06-16T09:00:00+01:00|68.0388555|150|[lb_av]" {
		t.Errorf("the weight reads %s", got)
	}
}

// TestEveryKindOfEntryHasWords lists one record of every kind on a page.
func TestEveryKindOfEntryHasWords(t *testing.T) {
	files, err := filepath.Glob("../testdata/events/*/v1.json")
	if err != nil || len(files) < 30 {
		t.Fatalf("golden events: %d files, %v", len(files), err)
	}
	c := newColony(t)
	animals := map[string]bool{}
	c.record("saltgarth", "rhona", "facility.opened", "2025-01-01T00:00:00Z", &events.FacilityOpened{Name: "Saltgarth", Zone: "Europe/Dublin"})
	for _, file := range files {
		raw, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		e, err := events.Decode([]byte(strings.TrimSpace(string(raw))))
		if err != nil {
			t.Fatal(err)
		}
		if e.Target() != "" || events.KindName(e.Type) == "facility.opened" {
			continue
		}
		for _, a := range e.Animals() {
			animals[a] = true
		}
		c.record("saltgarth", "rhona", events.KindName(e.Type), e.Time.Format("2006-01-02T15:04:05Z"), e.Body)
	}
	for id := range animals {
		c.enter(id, "Animal "+id[len(id)-4:], 1, "2020", "2025-01-02T00:00:00Z")
	}
	for id := range animals {
		page := c.page("/animals/"+id, 200)
		if strings.Contains(page, "%!") || strings.Contains(page, "ZgotmplZ") {
			t.Errorf("the page of %s holds a slip of a format", id)
		}
	}
}

func TestScriptsAreSound(t *testing.T) {
	node, err := exec.LookPath("node")
	if err != nil {
		t.Fatal("node is not installed; make test installs it")
	}
	files, err := filepath.Glob("static/*.js")
	if err != nil || len(files) == 0 {
		t.Fatal("no scripts", err)
	}
	for _, file := range files {
		raw, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		module := filepath.Join(t.TempDir(), "script.mjs") // the name says that it is a module
		if err := os.WriteFile(module, raw, 0o600); err != nil {
			t.Fatal(err)
		}
		if out, err := exec.Command(node, "--check", module).CombinedOutput(); err != nil {
			t.Errorf("%s: %s", file, out)
		}
	}
}

func TestTheSheetNamesEntriesThatWereCorrected(t *testing.T) {
	c := newColony(t)
	c.settle()
	id := c.feed("marl", "2026-06-17T09:00:00Z", "1.0", "1.0")
	data, _ := events.MakeData(&events.FeedGiven{Animal: "marl", Items: []events.FeedItem{{Food: "herring", Offered: kg("0.7"), Eaten: kg("0.7")}}})
	c.record("saltgarth", "rhona", "entry.corrected", "2026-06-17T09:30:00Z", &events.EntryCorrected{Entry: id, Data: data, Reason: "slip of the hand"})
	var sheet struct {
		Animals []struct {
			ID     string
			Eaten  map[string]float64
			Recent []struct {
				ID, State string
				Data      struct{ Items []events.FeedItem }
			}
		}
	}
	if err := json.Unmarshal([]byte(c.get("/deck/sheet.json?facility=saltgarth", 200)), &sheet); err != nil {
		t.Fatal(err)
	}
	marl := sheet.Animals[0]
	if marl.ID != "marl" || marl.Eaten["herring"] != 700 {
		t.Fatalf("the sheet says %+v", marl)
	}
	if got := marl.Recent[0]; got.ID != id || got.State != "corrected" || got.Data.Items[0].Eaten != kg("0.7") {
		t.Errorf("the recent entry is %+v", got)
	}
}

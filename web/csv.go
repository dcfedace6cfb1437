package web

import (
	"encoding/csv"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"haulout/projections"
)

// earliest is before every day on record.
const earliest projections.Day = "0001-01-01"

func (s *site) daysCSV(w http.ResponseWriter, r *http.Request) error {
	f, err := s.open(r)
	if err != nil {
		return err
	}
	list, err := s.Store.Days(f.animal.ID, earliest, f.today, f.asOf.moment)
	if err != nil {
		return err
	}
	rows := [][]string{{"animal", "day", "feeds", "offered_kg", "eaten_kg", "refused_kg", "kcal", "kcal_unknown_for", "eaten_by_food", "keepers", "corrected_entries"}}
	for _, d := range list {
		rows = append(rows, []string{
			f.animal.Name, string(d.Day), strconv.Itoa(d.Feeds), figure(d.OfferedG / 1000), figure(d.EatenG / 1000), figure(d.RefusedG / 1000),
			optional(d.Kcal), strings.Join(d.Unknown, "; "), byFood(d.Items), strings.Join(d.Keepers, "; "), strconv.Itoa(d.Corrected),
		})
	}
	return sendCSV(w, f, "days", rows)
}

func byFood(items []projections.FoodEaten) string {
	parts := make([]string, len(items))
	for i, item := range items {
		parts[i] = item.Name + " " + figure(item.EatenG/1000)
	}
	return strings.Join(parts, "; ")
}

func (s *site) weightsCSV(w http.ResponseWriter, r *http.Request) error {
	f, err := s.open(r)
	if err != nil {
		return err
	}
	list, err := s.Store.Weights(f.animal.ID, earliest, f.today, f.asOf.moment)
	if err != nil {
		return err
	}
	rows := [][]string{{"animal", "time", "mass_kg", "read", "read_unit", "before_correction", "before_correction_unit", "coat", "method", "scale", "by", "facility", "entry"}}
	for _, x := range list {
		var before, unit string
		if x.Was != nil {
			before, unit = x.Was.Value, x.Was.Unit
		}
		rows = append(rows, []string{
			f.animal.Name, x.Time.In(s.Store.Zone(x.Facility)).Format(time.RFC3339), figure(x.Kg), x.Read.Value, x.Read.Unit, before, unit,
			x.Coat, x.Method, x.Scale, x.By, x.Facility, x.ID,
		})
	}
	return sendCSV(w, f, "weights", rows)
}

func figure(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func optional(v *float64) string {
	if v == nil {
		return ""
	}
	return figure(*v)
}

// sendCSV sends a table as a file. A text that a spreadsheet would take for a
// formula gets a quote before it.
func sendCSV(w http.ResponseWriter, f file, what string, rows [][]string) error {
	h := w.Header()
	h.Set("Content-Type", "text/csv; charset=utf-8")
	h.Set("Content-Disposition", fmt.Sprintf(`attachment; filename="%s-%s.csv"`, f.animal.ID, what))
	h.Set("Cache-Control", "private, no-cache")
	out := csv.NewWriter(w)
	for _, row := range rows {
		for i := range row {
			row[i] = defused(row[i])
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// defused keeps a spreadsheet from running a text as a formula.
func defused(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}

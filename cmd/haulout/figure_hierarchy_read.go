package main

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"haulout/events"
	"haulout/projections/dominance"
)

// hierarchyInput is what the file holds.
type hierarchyInput struct {
	matrix   dominance.Matrix
	met      []meeting // what the matrix was counted from, the first first; none where the file has a matrix
	listed   bool      // they followed each other as they are listed
	scale    dominance.Scale
	set      bool       // the file set the scale
	kind     string     // as the file says: what it asks for besides
	changes  []*changed // what the encounters were after each operation
	warnings []string
}

// encounterColumns are also those of an exported table; what a signal was
// counts for nothing here.
func encounterColumns() []column {
	return slices.Concat(needed("time", "winner", "loser"), optional("draw", "intensity", "place", "cause", "signal"))
}

func readHierarchy(path string) (*hierarchyInput, error) {
	file, err := openFigure(path)
	if err != nil {
		return nil, err
	}
	in := &hierarchyInput{scale: dominance.UsualScale()}
	read := in.readSheet
	if file.isObject() {
		read = in.readObject
	}
	if err := read(path, file.text); err != nil {
		return nil, err
	}
	return in, nil
}

// readSheet reads a line an encounter. All that is wrong with it is told at once.
func (in *hierarchyInput) readSheet(path string, text []byte) error {
	sh, err := parseSheet(text, encounterColumns())
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	s := &figureSheet{importer: importer{sheet: sh, where: time.UTC}}
	s.sum.File = path
	names := namesIn(sh, "winner", "loser")
	for _, r := range sh.rows {
		if r.excess != "" {
			s.problem(r, "", r.excess, "stands under no column; an encounter has one winner and one loser, each in its column")
		}
		if r.cell("time") == "" {
			s.problem(r, "time", "", "is empty; write a time as 2026-03-01 16:00, or the day alone")
		}
		m, slips := textOf(r).read(names.animal)
		for _, slip := range slips {
			s.problem(r, slip.field, slip.value, "%s", slip.why)
		}
		in.met = append(in.met, m)
	}
	if err := s.refusal(); err != nil {
		return err
	}
	slices.SortFunc(in.met, meeting.compare)
	return in.count(names.listed())
}

func textOf(r *row) encounterText {
	return encounterText{
		time: r.cell("time"), winner: r.cell("winner"), loser: r.cell("loser"),
		draw: word(r, "draw"), intensity: word(r, "intensity"), place: word(r, "place"), cause: word(r, "cause"),
	}
}

// sheetNames are the names of a sheet as they are written, by their folded form.
type sheetNames map[string]string

// namesIn finds the names in some columns. It takes of several ways to write a
// name always the same, whatever the order of the lines.
func namesIn(sh *sheet, columns ...string) sheetNames {
	names := sheetNames{}
	for _, r := range sh.rows {
		for _, column := range columns {
			name := strings.Join(strings.Fields(r.cell(column)), " ")
			if before, known := names[events.NameFold(name)]; name != "" && (!known || name < before) {
				names[events.NameFold(name)] = name
			}
		}
	}
	return names
}

func (names sheetNames) listed() []string {
	out := []string{}
	for _, name := range names {
		out = append(out, name)
	}
	slices.Sort(out)
	return out
}

// animal finds the animal of a cell.
func (names sheetNames) animal(cell string) (name, why string) {
	if names.several(cell) {
		return "", "names two animals; an encounter has one winner and one loser: write a line for each pair, or leave out what several did together"
	}
	return names.called(cell), ""
}

// called is how a name is written, "" where the columns don't have it.
func (names sheetNames) called(cell string) string { return names[events.NameFold(cell)] }

// several says whether a cell joins the name of another animal to something.
func (names sheetNames) several(cell string) bool {
	parts := strings.FieldsFunc(strings.ReplaceAll(events.NameFold(cell), " and ", "&"), func(r rune) bool { return strings.ContainsRune("&+/;,", r) })
	return len(parts) > 1 && slices.ContainsFunc(parts, func(part string) bool { return names.called(part) != "" })
}

// count makes the matrix of the encounters that are the animals' own.
func (in *hierarchyInput) count(ids []string) error {
	reasons := map[string]int{}
	own := []meeting{}
	for _, m := range in.met {
		_, apart, err := dominance.Sort([]dominance.Seen{m.Seen})
		if err != nil {
			return err
		}
		if len(apart) > 0 {
			reasons[apart[0].Reason]++
			continue
		}
		own = append(own, m)
	}
	for _, why := range slices.Sorted(maps.Keys(reasons)) {
		in.warnings = append(in.warnings, fmt.Sprintf("%s kept apart and not counted: %s", counted(reasons[why], "encounter is", "encounters are"), why))
	}
	in.met = own
	var err error
	in.matrix, err = dominance.FromEvents(ids, dominance.Encounters(seenOf(own)))
	return err
}

package main

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"haulout/projections/rules"
)

const spaceHelp = `Holds an enclosure against the least space that 9 CFR 3.104(d) asks for the
pinnipeds in it: dry area, water surface, width and depth, each with its
arithmetic. It asks no server and records nothing. To see whether a newcomer
fits, add its line. The file is a sheet, or a JSON object.

  sheet  %s
  JSON   {"animals": [{"animal": "Marl", "taxon": …, "sex": …, "mature": …}], "water_area": 40,
         "water_depth": 1.5, "dry_area": 20, "width": 4, "across": 10}

Sex is female or male; of an animal of unknown sex the longer counts. Mature is
yes or no, and what is left out counts as yes: it matters for two males or more
of some kinds. The rule goes by the average length of adults of a kind and sex
and not by the animal's own. Of a kind that its table does not have, give that
length in m and the group (1 or 2) that the law puts it into.

What an enclosure has is in m and m2. Without it the answer is what it would
have to have.

` + spaceCaution

// spaceCaution stands beside every answer.
const spaceCaution = "A planning aid: local law and permits come first, and the responsible people and the veterinarian decide."

type spaceOptions struct {
	in     string
	json   bool
	extent map[string]*string // by the key of an object
}

// extents are the options and keys that say what an enclosure has.
var extents = [...]struct{ key, says string }{
	{"water_area", "water surface in m2, of water that is deep enough"}, {"water_depth", "depth of the pool in m"},
	{"dry_area", "dry resting area in m2"}, {"width", "least horizontal dimension of the pool in m"}, {"across", "horizontal dimension of the pool at a right angle to it, in m"},
}

func flagOf(key string) string { return strings.ReplaceAll(key, "_", "-") }

func newFigureSpace() *cobra.Command {
	o := spaceOptions{extent: map[string]*string{}}
	cmd := &cobra.Command{
		Use: "space", Short: "The least space for the animals of an enclosure", Args: noArgs,
		Long:    fmt.Sprintf(spaceHelp, listColumns(spaceColumns())),
		Example: "  haulout figure space --in animals.csv --water-area 40 --water-depth 1.5 --dry-area 20 --width 4",
		RunE: func(cmd *cobra.Command, _ []string) error {
			return figureFrom(o.in, "the animals", o.json, cmd.OutOrStdout(), o.answer)
		},
	}
	cmd.Flags().StringVar(&o.in, "in", "", "CSV or JSON file of the animals")
	for _, e := range extents {
		o.extent[e.key] = cmd.Flags().String(flagOf(e.key), "", e.says)
	}
	cmd.Flags().BoolVar(&o.json, "json", false, "print the figures as JSON")
	return cmd
}

// spaceInput is the object as it is written.
type spaceInput struct {
	Animals    []object `json:"animals"`
	WaterArea  *float64 `json:"water_area"`
	WaterDepth *float64 `json:"water_depth"`
	DryArea    *float64 `json:"dry_area"`
	Width      *float64 `json:"width"`
	Across     *float64 `json:"across"`
}

func (o spaceOptions) answer(f *figureFile) (answer, error) {
	var in spaceInput
	if err := o.take(&in); err != nil {
		return nil, err
	}
	if f.isObject() {
		return f.answerObject([]shape{{"animals water_area water_depth dry_area width across", func(file object) (answer, error) { return in.answer(file) }}})
	}
	animals, err := readOccupants(f)
	if err != nil {
		return nil, err
	}
	return in.figure(animals)
}

// take reads what the command line says of the enclosure.
func (o spaceOptions) take(in *spaceInput) error {
	to := []**float64{&in.WaterArea, &in.WaterDepth, &in.DryArea, &in.Width, &in.Across}
	var errs []error
	for i, e := range extents {
		text := strings.TrimSpace(*o.extent[e.key])
		if text == "" {
			continue
		}
		n, bad := numberOf(strings.Replace(text, ",", ".", 1))
		if bad != "" {
			errs = append(errs, fmt.Errorf("--%s %q: %s", flagOf(e.key), text, bad))
		}
		*to[i] = &n
	}
	if err := errors.Join(errs...); err != nil {
		return useError{err}
	}
	return nil
}

// answer adds the object to what the command line says.
func (in spaceInput) answer(file object) (answer, error) {
	said := []*float64{in.WaterArea, in.WaterDepth, in.DryArea, in.Width, in.Across}
	for i, e := range extents {
		if _, has := file[e.key]; has && said[i] != nil {
			return nil, useError{fmt.Errorf("the file says %s, and --%s does too; leave one out", e.key, flagOf(e.key))}
		}
	}
	if err := file.into(&in); err != nil {
		return nil, err
	}
	var animals []rules.Occupant
	for i, one := range in.Animals {
		a, err := occupantOf(one)
		if err != nil {
			return nil, fmt.Errorf("animals[%d]: %w", i, err)
		}
		a.Animal = cmp.Or(a.Animal, fmt.Sprintf("animals[%d]", i))
		animals = append(animals, a)
	}
	return in.figure(animals)
}

// occupantOf reads an animal of an object.
func occupantOf(o object) (rules.Occupant, error) {
	var a struct {
		Animal string          `json:"animal"`
		Taxon  string          `json:"taxon"`
		Sex    string          `json:"sex"`
		Mature json.RawMessage `json:"mature"`
		Length *float64        `json:"length"`
		Group  *int            `json:"group"`
	}
	if err := o.into(&a); err != nil {
		return rules.Occupant{}, err
	}
	out := rules.Occupant{Animal: a.Animal, Taxon: taxonOf(a.Taxon), Sex: strings.ToLower(a.Sex)}
	mature, bad := matureOf(strings.ToLower(strings.Trim(string(a.Mature), `"`)))
	sexes := []string{"", "female", "male", "unknown"}
	switch {
	case out.Taxon == "":
		return out, errors.New("taxon is missing; give the scientific name, such as Zalophus californianus")
	case !slices.Contains(sexes, out.Sex):
		return out, fmt.Errorf("sex is %q; use female, male or unknown%s", a.Sex, meant(a.Sex, sexes))
	case bad:
		return out, fmt.Errorf("mature is %s; write yes or no, or leave it out", a.Mature)
	}
	out.Mature = mature
	if a.Length != nil {
		out.Length = *a.Length
	}
	if a.Group != nil {
		out.Group = *a.Group
	}
	return out, nil
}

// matureOf reads whether an animal is mature; "" where nobody said.
func matureOf(text string) (mature string, bad bool) {
	switch text {
	case "", "null":
		return "", false
	case "yes", "y", "true", "1":
		return "yes", false
	case "no", "n", "false", "0":
		return "no", false
	}
	return "", true
}

func spaceColumns() []column {
	return slices.Concat(optional("animal"), needed("taxon", "sex"), optional("mature", "length", "group"))
}

// readOccupants reads a line an animal.
func readOccupants(f *figureFile) ([]rules.Occupant, error) {
	s, err := f.lines(spaceColumns(), "", time.UTC)
	if err != nil {
		return nil, err
	}
	var out []rules.Occupant
	names := namesIn(s.sheet, "animal")
	lines := map[string]int{}
	for _, r := range s.sheet.rows {
		a := s.occupant(r, names)
		if a.Animal == "" {
			a.Animal = fmt.Sprintf("line %d", r.line)
		}
		if before := lines[a.Animal]; before > 0 {
			s.problem(r, "animal", r.cell("animal"), "stands on line %d too; write each animal once", before)
		}
		lines[a.Animal] = r.line
		out = append(out, a)
	}
	return out, s.refusal()
}

func (s *figureSheet) occupant(r *row, names sheetNames) rules.Occupant {
	out := rules.Occupant{Taxon: taxonOf(r.cell("taxon")), Sex: s.known(r, "sex", "female", "male", "unknown")}
	if r.cell("animal") != "" { // who has no name is counted too
		out.Animal = s.animal(r, names)
	}
	if out.Taxon == "" {
		s.problem(r, "taxon", "", "is empty; give the scientific name, such as Zalophus californianus")
	}
	mature, bad := matureOf(word(r, "mature"))
	if out.Mature = mature; bad {
		s.problem(r, "mature", r.cell("mature"), "write yes or no, or leave it empty")
	}
	if r.cell("length") != "" {
		if out.Length = s.amount(r, "length", ""); out.Length == 0 && !r.bad {
			s.problem(r, "length", r.cell("length"), "is 0; give the average length of adults in m, or leave it empty")
		}
	}
	switch r.cell("group") {
	case "":
	case "1", "2":
		out.Group = int(r.cell("group")[0] - '0')
	default:
		s.problem(r, "group", r.cell("group"), "is none; give 1 or 2, or leave it empty")
	}
	return out
}

// spaceFigure is the answer.
type spaceFigure struct {
	rules.Space
	Animals int    `json:"animals"`
	Caution string `json:"caution"`
}

func (in spaceInput) figure(animals []rules.Occupant) (answer, error) {
	space, err := rules.SpaceFor(animals, rules.Extent{WaterArea: in.WaterArea, WaterDepth: in.WaterDepth, DryArea: in.DryArea, Width: in.Width, Across: in.Across})
	if err != nil {
		return nil, err
	}
	return &spaceFigure{space, len(animals), spaceCaution}, nil
}

func (f *spaceFigure) print(out io.Writer) error {
	if f.NotEnough != "" {
		return printLines(out, f.Caution, "Cannot be told: "+f.NotEnough+".")
	}
	lines := []string{f.verdict(), ""}
	for _, m := range f.Measures {
		lines = append(lines, fmt.Sprintf("%-10s %s.", m.Standing, m.Words))
	}
	lines = append(lines, "", fmt.Sprintf("The rule sets no volume; least area by least depth comes to %.1f m³.", f.Volume))
	for _, note := range f.Notes {
		lines = append(lines, "Mind: "+note+".")
	}
	lines = append(lines, fmt.Sprintf("By %s, as it stands here since %s.", f.Cited, f.Effective))
	return printLines(out, f.Caution, lines...)
}

func (f *spaceFigure) verdict() string {
	who := counted(f.Animals, "animal", "animals")
	switch f.Standing {
	case rules.Passes:
		return "Large enough for " + who + ": every measure passes."
	case rules.Fails:
		return "Too small for " + who + ": a measure fails."
	}
	return "Undecided for " + who + ": not all that the enclosure has is given."
}

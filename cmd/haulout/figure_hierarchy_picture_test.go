package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The picture of the README is of Sullivan 1982, J Mammal 63:554-569, table 4.
func TestThePictureInTheREADMEIsTheProgramsOwn(t *testing.T) {
	const kept = "../../testdata/pages/harbour-seals.svg"
	drawn := filepath.Join(t.TempDir(), "seals.svg")
	hierarchy(t, hierarchyVectors+"matrix_sullivan_1982.json", "--picture", drawn,
		"--title", "Harbour seals hauled out: who yields to whom",
		"--source", "216 encounters of 18 seals: Sullivan 1982, J Mammal 63:554-569, table 4, by way of Strauss et al. 2022")
	got, err := os.ReadFile(drawn)
	if err != nil {
		t.Fatal(err)
	}
	want, err := os.ReadFile(kept)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s is not what the program draws; draw it again with the command in the README", kept)
	}
}

func TestAPictureOfNoOrderHasNoPlaces(t *testing.T) {
	file := hierarchyFileOf(t, "group", `{"ids":["A","B","C"],"matrix":[[0,1,0],[0,0,0],[0,0,0]]}`)
	drawn := filepath.Join(t.TempDir(), "group.svg")
	hierarchy(t, file, "--picture", drawn)
	svg, err := os.ReadFile(drawn)
	if err != nil || !strings.Contains(string(svg), "No order yet") || !strings.Contains(string(svg), "any place") {
		t.Errorf("%v %s", err, svg)
	}
	var out, errs bytes.Buffer
	nowhere := filepath.Join(t.TempDir(), "none", "x.svg")
	if code := run(t.Context(), []string{"figure", "hierarchy", "--in", file, "--picture", nowhere}, &out, &errs); code == exitGood || !strings.Contains(errs.String(), nowhere) {
		t.Errorf("a folder that is missing: %d %s", code, errs.String())
	}
}

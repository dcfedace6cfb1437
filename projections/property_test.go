package projections

import (
	"flag"
	"os"
	"testing"
)

// TestMain sets how often rapid tries every property: 200 times, as often as
// HAULOUT_PROOF says for a long proof, or as -rapid.checks asks.
func TestMain(m *testing.M) {
	flag.Parse()
	_ = flag.Set("rapid.nofailfile", "true") // the seed that a failure prints is enough
	asked := false
	flag.Visit(func(f *flag.Flag) { asked = asked || f.Name == "rapid.checks" })
	if n := os.Getenv("HAULOUT_PROOF"); n != "" && !asked {
		if err := flag.Set("rapid.checks", n); err != nil {
			panic("HAULOUT_PROOF is no number: " + n)
		}
	} else if !asked {
		_ = flag.Set("rapid.checks", "200")
	}
	os.Exit(m.Run())
}

// memory is where folders live in memory on most Linux machines.
const memory = "/dev/shm"

// smallDir makes a folder for one of many short-lived archives, in memory where
// there is such a place.
func smallDir(t *testing.T) string {
	base := ""
	if info, err := os.Stat(memory); err == nil && info.IsDir() {
		base = memory
	}
	dir, err := os.MkdirTemp(base, "archives")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	return dir
}

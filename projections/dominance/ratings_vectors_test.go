package dominance

import (
	"encoding/json"
	"iter"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// sequence is encounters in their order with what was published of them and what
// was only computed. Sources and tolerances stand in the files.
type sequence struct {
	IDs       []string           `json:"ids"`
	Events    [][]string         `json:"events"` // day, often a time, winner, loser
	Starts    map[string]float64 `json:"start_values"`
	Published map[string]claim   `json:"published"`
	Computed  map[string]claim   `json:"computed"`
}

func ratingVector[T any](t *testing.T, name string) (out T) {
	t.Helper()
	raw, err := os.ReadFile("../../testdata/vectors/dominance/" + name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// claim is a figure of a vector.
type claim struct {
	Value     any     `json:"value"`
	Tolerance float64 `json:"tolerance"`
}

// matches holds what was worked out against a figure of the vector.
func matches(t *testing.T, name string, c claim, is any) {
	t.Helper()
	raw, err := json.Marshal(is)
	if err != nil {
		t.Fatal(err)
	}
	var got any
	if err := json.Unmarshal(raw, &got); err != nil {
		t.Fatal(err)
	}
	c.against(t, name, c.Value, got)
}

// against compares number by number; what the claim does not name is not asked.
func (c claim) against(t *testing.T, at string, want, got any) {
	t.Helper()
	switch want := want.(type) {
	case float64:
		if is, ok := got.(float64); !ok || !(math.Abs(is-want) <= c.Tolerance+1e-9) {
			t.Errorf("%s is %v, want %v within %g", at, got, want, c.Tolerance)
		}
	case []any:
		is, _ := got.([]any)
		if len(is) != len(want) {
			t.Errorf("%s is %v, want %v", at, got, want)
			return
		}
		for i := range want {
			c.against(t, at, want[i], is[i])
		}
	case map[string]any:
		is, _ := got.(map[string]any)
		for key := range want {
			c.against(t, at+", "+key, want[key], is[key])
		}
	default:
		t.Errorf("%s: the vector has %v, which can't be compared", at, want)
	}
}

func (s sequence) encounters() (out []Seen) {
	for _, e := range s.Events {
		out = append(out, won(e[len(e)-2], e[len(e)-1]))
	}
	return out
}

func won(winner, loser string) Seen { return Seen{Encounter: Encounter{Winner: winner, Loser: loser}} }

func flat(curve Curve, k, start float64) Scale {
	return Scale{Curve: curve, Start: start, K: map[string]float64{"": k}}
}

// followed is a rating after a sequence, with the chance that each winner had.
type followed struct {
	Ratings map[string]float64 `json:"ratings"`
	Sum     float64            `json:"sum_log_p_winner"`
	First   []float64          `json:"first3_p"`
	after   []map[string]float64
}

// follow takes encounters one at a time. The published runs round all points to
// whole ones after each, which the rating never does: so the test does.
func follow(t *testing.T, scale Scale, ids []string, seen []Seen, whole bool) (out followed) {
	t.Helper()
	r, err := NewRating(scale)
	if err != nil {
		t.Fatal(err)
	}
	r = r.Join(ids...)
	for _, s := range seen {
		r = r.Join(s.Winner, s.Loser)
		p := scale.Curve.Chance(r.Points[s.Winner] - r.Points[s.Loser])
		if out.Sum += math.Log(p); len(out.First) < 3 {
			out.First = append(out.First, p)
		}
		if r, err = r.Step([]Seen{s}); err != nil {
			t.Fatal(err)
		}
		if whole {
			for id, points := range r.Points {
				r.Points[id] = math.RoundToEven(points)
			}
		}
		out.after = append(out.after, maps.Clone(r.Points))
	}
	out.Ratings = r.Points
	return out
}

func TestRatingsOfPublishedRuns(t *testing.T) {
	adv := ratingVector[sequence](t, "elo_albers_devries2001")
	bab := ratingVector[sequence](t, "elo_baboons_bab1")
	prior := ratingVector[sequence](t, "elo_prior_start_values")
	normal, logistic := flat(Normal, 100, 1000), flat(Logistic, 100, 1000)
	known := normal
	known.Prior = prior.Starts
	t.Run("published", func(t *testing.T) {
		matches(t, "normal", adv.Published["final_ratings_normal_k100_rounded"], follow(t, normal, nil, adv.encounters(), true).Ratings)
		matches(t, "logistic", adv.Published["final_ratings_logistic_k100_rounded"], follow(t, logistic, nil, adv.encounters(), true).Ratings)
		matches(t, "baboons", bab.Published["final_ratings"], follow(t, normal, nil, bab.encounters(), true).Ratings)
		matches(t, "prior starts", prior.Published["final_ratings"], follow(t, known, nil, prior.encounters(), true).Ratings)
	})
	t.Run("computed", func(t *testing.T) {
		matches(t, "normal", adv.Computed["normal_k100"], follow(t, normal, nil, adv.encounters(), false))
		matches(t, "normal, whole", adv.Computed["normal_k100_rounded"], follow(t, normal, nil, adv.encounters(), true))
		matches(t, "logistic", adv.Computed["logistic_k100"], follow(t, logistic, nil, adv.encounters(), false))
		matches(t, "logistic, whole", adv.Computed["logistic_k100_rounded"], follow(t, logistic, nil, adv.encounters(), true))
		matches(t, "exponential", adv.Computed["exp0.01_k200_start0"], follow(t, flat(Exponential, 200, 0), nil, adv.encounters(), false))
		matches(t, "baboons", bab.Computed["unrounded"], follow(t, normal, nil, bab.encounters(), false))
		matches(t, "baboons, whole", bab.Computed["rounded"], follow(t, normal, nil, bab.encounters(), true))
		matches(t, "prior starts", prior.Computed["prior_starts_rounded"], follow(t, known, nil, prior.encounters(), true))
	})
}

func TestASingleEncounterMovesPointsAsPublished(t *testing.T) {
	v := ratingVector[sequence](t, "elo_single_update")
	meet := func(curve Curve, first, second float64, undecided, whole bool) []float64 {
		scale := flat(curve, 100, 1000)
		scale.Prior = map[string]float64{"A": first, "B": second}
		s := won("A", "B")
		s.Undecided = undecided
		got := follow(t, scale, nil, []Seen{s}, whole).Ratings
		return []float64{got["A"], got["B"]}
	}
	t.Run("published", func(t *testing.T) {
		matches(t, "normal", v.Published["normal"], meet(Normal, 1000, 1500, false, true))
		matches(t, "logistic", v.Published["logistic"], meet(Logistic, 1000, 1500, false, true))
	})
	t.Run("computed", func(t *testing.T) {
		matches(t, "chance at 200, normal", v.Computed["p_200_normal"], Normal.Chance(200))
		matches(t, "chance at 200, logistic", v.Computed["p_200_logistic"], Logistic.Chance(200))
		matches(t, "the better wins", v.Computed["favoured_wins"], meet(Normal, 1200, 1000, false, false))
		upset := meet(Normal, 1000, 1200, false, false)
		slices.Reverse(upset)
		matches(t, "the better loses", v.Computed["upset"], upset)
		matches(t, "a draw", v.Computed["draw"], meet(Normal, 1200, 1000, true, false))
	})
}

// dayOf is the number of a day of a sequence, from its first.
func (s sequence) dayOf(t *testing.T, event int) int {
	t.Helper()
	at := func(i int) time.Time {
		day, err := time.Parse(time.DateOnly, s.Events[i][0])
		if err != nil {
			t.Fatal(err)
		}
		return day
	}
	return int(at(event).Sub(at(0)).Hours() / 24)
}

// carried is the stability with points carried forward, all animals there from
// the start.
func (s sequence) carried(t *testing.T) map[string]float64 {
	t.Helper()
	points := follow(t, flat(Normal, 100, 1000), s.IDs, s.encounters(), true).after
	var out Stability
	last, day := points[0], 0
	for i := range points {
		if i+1 < len(points) && s.dayOf(t, i+1) == s.dayOf(t, i) {
			continue
		}
		if today := s.dayOf(t, i); today > day {
			out = out.Step(last, points[i], today-day)
			day = today
		}
		last = points[i]
	}
	return indices(t, out)
}

// lookedAhead is the stability as the published run has it: each animal's points
// are drawn as a line from one of its days to the next, then rounded.
func (s sequence) lookedAhead(t *testing.T) map[string]float64 {
	t.Helper()
	points := follow(t, flat(Normal, 100, 1000), s.IDs, s.encounters(), true).after
	days := make([]map[string]float64, s.dayOf(t, len(points)-1)+1)
	for i := range days {
		days[i] = map[string]float64{}
	}
	for _, id := range s.IDs {
		known, value := 0, 1000.0
		days[0][id] = value
		for i := range points {
			if e := s.Events[i]; !slices.Contains(e[len(e)-2:], id) {
				continue
			}
			day := s.dayOf(t, i)
			for d := known + 1; d <= day; d++ {
				days[d][id] = math.RoundToEven(value + (points[i][id]-value)*float64(d-known)/float64(day-known))
			}
			known, value = day, points[i][id]
			days[known][id] = value
		}
		for d := known + 1; d < len(days); d++ {
			days[d][id] = value
		}
	}
	var out Stability
	for d := 1; d < len(days); d++ {
		out = out.Step(days[d-1], days[d], 1)
	}
	return indices(t, out)
}

func indices(t *testing.T, s Stability) map[string]float64 {
	t.Helper()
	weighted, plain, ok := s.Index()
	if !ok {
		t.Fatal("no stability")
	}
	return map[string]float64{"weighted": weighted, "unweighted": plain}
}

func TestStabilityOfSequences(t *testing.T) {
	adv := ratingVector[sequence](t, "elo_albers_devries2001")
	bab := ratingVector[sequence](t, "elo_baboons_bab1")
	t.Run("published", func(t *testing.T) {
		matches(t, "looking ahead", adv.Published["stability"], adv.lookedAhead(t))
	})
	t.Run("computed", func(t *testing.T) {
		matches(t, "looking ahead", adv.Computed["stability_S_interpolated"], adv.lookedAhead(t))
		matches(t, "carried forward", adv.Computed["stability_S_carry_forward"], adv.carried(t))
		matches(t, "baboons, carried forward", bab.Computed["stability_S_carry_forward"], bab.carried(t))
	})
}

// permutations gives every order of the encounters.
func permutations(seen []Seen) iter.Seq[[]Seen] {
	return func(yield func([]Seen) bool) {
		var from func(int) bool
		from = func(i int) bool {
			if i == len(seen) {
				return yield(seen)
			}
			for j := i; j < len(seen); j++ {
				seen[i], seen[j] = seen[j], seen[i]
				ok := from(i + 1)
				seen[i], seen[j] = seen[j], seen[i]
				if !ok {
					return false
				}
			}
			return true
		}
		from(0)
	}
}

type manyOrders struct {
	Orders        int                `json:"orders"`
	Mean          map[string]float64 `json:"mean"`
	SD            map[string]float64 `json:"sd"`
	Place         map[string]float64 `json:"mean_rank"`
	Repeatability float64            `json:"repeatability"`
}

func TestRandomisedRatingsAgainstEveryOrder(t *testing.T) {
	v := ratingVector[sequence](t, "elo_randomized_exact_6")
	scale, seen := flat(Exponential, 200, 0), v.encounters()
	by, repeatability, err := overOrders(seen, scale, permutations(v.encounters()))
	if err != nil {
		t.Fatal(err)
	}
	got := manyOrders{720, map[string]float64{}, map[string]float64{}, map[string]float64{}, repeatability}
	for _, s := range by {
		got.Mean[s.Animal], got.SD[s.Animal], got.Place[s.Animal] = s.Points, s.SD, s.Place
	}
	t.Run("computed", func(t *testing.T) {
		matches(t, "all orders", v.Computed["all_orders"], got)
	})
	// The vector's own note: a sample lies within 5 SD/√orders of the mean.
	t.Run("computed/a sample", func(t *testing.T) {
		const orders = 1000
		some, _, err := Randomised(seen, scale, orders, 7)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range some {
			if off := math.Abs(s.Points - got.Mean[s.Animal]); off > 5*got.SD[s.Animal]/math.Sqrt(orders) {
				t.Errorf("%s is %.2f from the mean of all orders", s.Animal, off)
			}
		}
	})
}

func TestAPublishedDayOfBelievedRatings(t *testing.T) {
	v := ratingVector[struct {
		Input struct {
			R, RD float64
			Games [][3]float64
		}
		Published, Computed map[string]claim
	}](t, "glicko1_example")
	var day []Against
	var g, e []float64
	for _, game := range v.Input.Games {
		day = append(day, Against{Believed{game[0], game[1]}, game[2]})
		g = append(g, dampened(game[1]))
		e = append(e, Logistic.Chance(dampened(game[1])*(v.Input.R-game[0])))
	}
	got := Believed{v.Input.R, v.Input.RD}.After(day)
	t.Run("published", func(t *testing.T) {
		matches(t, "points", v.Published["r"], got.Points)
		matches(t, "deviation", v.Published["RD"], got.Deviation)
		matches(t, "g", v.Published["g"], g)
		matches(t, "E", v.Published["E"], e)
	})
	t.Run("computed", func(t *testing.T) {
		matches(t, "both", v.Computed["exact"], []float64{got.Points, got.Deviation})
	})
}

func TestAbilitiesOfBaseball(t *testing.T) {
	v := ratingVector[struct {
		IDs                 []string
		Matrix              [][]float64
		Published, Computed map[string]claim
	}](t, "bradley_terry_baseball1987")
	a, err := Matrix{IDs: v.IDs, Wins: v.Matrix}.Likeliest()
	if err != nil {
		t.Fatal(err)
	}
	abilities, errs := map[string]float64{}, map[string]float64{}
	for i, id := range v.IDs {
		abilities[id], errs[id] = a.Log[i]-a.Log[0], a.Error(i, 0)
	}
	t.Run("published", func(t *testing.T) {
		matches(t, "two digits", v.Published["log_ability_vs_Baltimore"], abilities)
		matches(t, "five digits", v.Published["log_ability_5dp"], abilities)
		matches(t, "standard errors", v.Published["standard_errors"], errs)
	})
	t.Run("computed", func(t *testing.T) {
		matches(t, "six digits", v.Computed["log_ability_vs_Baltimore"], abilities)
	})
}

// Abilities and directions of the matrices of the literature were computed by
// others of nothing but the matrix; none of them is published.
func TestAbilitiesOfMatrices(t *testing.T) {
	files, err := filepath.Glob("../../testdata/vectors/dominance/*.json")
	if err != nil {
		t.Fatal(err)
	}
	compared := 0
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".json")
		v := ratingVector[struct {
			IDs      []string         `json:"ids"`
			Matrix   [][]float64      `json:"matrix"`
			Computed map[string]claim `json:"computed"`
		}](t, name)
		if v.Computed["bradley_terry_ghost1"].Value == nil {
			continue
		}
		compared++
		t.Run("computed/"+name, func(t *testing.T) { abilitiesMatch(t, Matrix{IDs: v.IDs, Wins: v.Matrix}, v.Computed) })
	}
	if compared < 19 {
		t.Errorf("only %d matrices were compared", compared)
	}
}

func abilitiesMatch(t *testing.T, m Matrix, computed map[string]claim) {
	t.Helper()
	by := func(a Abilities) map[string]float64 {
		out := map[string]float64{}
		for i, id := range a.IDs {
			out[id] = a.Log[i]
		}
		return out
	}
	matches(t, "with a prior", computed["bradley_terry_ghost1"], by(abilitiesOf(t, m)))
	likeliest, err := m.Likeliest()
	if exists := computed["bradley_terry_mle"].Value != nil; exists != (err == nil) {
		t.Errorf("likeliest abilities exist: %v, but %v", exists, err)
	} else if exists {
		matches(t, "likeliest", computed["bradley_terry_mle"], by(likeliest))
	}
	pairs, claimed := map[string]float64{}, computed["dyad_posterior_direction"]
	for i, a := range m.IDs {
		for j := i + 1; j < len(m.IDs); j++ {
			pairs[a+">"+m.IDs[j]] = m.Pair(i, j).Direction
		}
	}
	if claimed.Value != nil {
		matches(t, "direction", claimed, pairs)
	}
}

func TestCompanyOfAPublishedExample(t *testing.T) {
	v := ratingVector[sequence](t, "sociality_small")
	c := Company{A: "A", B: "B", Together: 8, BothApart: 2, OnlyA: 30}
	simple, _ := c.SimpleRatio()
	half, _ := c.HalfWeight()
	ofA, ofB, _ := c.Shares()
	t.Run("published", func(t *testing.T) {
		matches(t, "simple ratio", v.Published["simple_ratio"], simple)
		matches(t, "of A's scans", v.Published["directed_A"], ofA)
		matches(t, "of B's scans", v.Published["directed_B"], ofB)
	})
	t.Run("computed", func(t *testing.T) {
		matches(t, "half weight", v.Computed["half_weight"], half)
	})
}

// noted is an encounter as it is known after additions, changes and withdrawals.
type noted struct{ Op, ID, Target, T, Winner, Loser string }

// apply changes what is known by one operation.
func apply(known map[string]noted, op noted) {
	switch op.Op {
	case "add":
		known[op.ID] = op
	case "retract":
		delete(known, op.Target)
	case "amend":
		was := known[op.Target]
		if op.T != "" {
			was.T = op.T
		}
		if op.Winner != "" {
			was.Winner, was.Loser = op.Winner, op.Loser
		}
		known[op.Target] = was
	}
}

func TestRatingsOfLateAndCorrectedEncounters(t *testing.T) {
	v := ratingVector[struct {
		IDs      []string
		Ops      []noted
		Computed map[string]struct {
			Value []struct {
				Matrix [][]float64
				Elo    map[string]float64
			}
			Tolerance float64
		}
	}](t, "ops_late_and_corrected")
	want, known := v.Computed["state_after_each_op"], map[string]noted{}
	for n, op := range v.Ops {
		apply(known, op)
		var seen []Seen
		for _, e := range slices.SortedFunc(maps.Values(known), func(a, b noted) int { return strings.Compare(a.T+a.ID, b.T+b.ID) }) {
			seen = append(seen, won(e.Winner, e.Loser))
		}
		got := follow(t, flat(Normal, 100, 1000), v.IDs, seen, false).Ratings
		m, err := FromEvents(v.IDs, Encounters(seen))
		if err != nil {
			t.Fatal(err)
		}
		for i, id := range v.IDs {
			if off := math.Abs(got[id] - want.Value[n].Elo[id]); !(off <= want.Tolerance) {
				t.Errorf("computed: after operation %d %s has %.4f points, want %.4f", n+1, id, got[id], want.Value[n].Elo[id])
			}
			if !slices.Equal(m.Wins[i], want.Value[n].Matrix[i]) {
				t.Errorf("computed: after operation %d the wins of %s are %v", n+1, id, m.Wins[i])
			}
		}
	}
}

package dominance

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/floats"
	"pgregory.net/rapid"
)

// seen throws encounters of up to so many animals.
func seen(t *rapid.T, most int) (ids []string, out []Encounter) {
	ids = lettered(make([][]float64, rapid.IntRange(2, most).Draw(t, "animals"))...).IDs
	encounter := rapid.Custom(func(t *rapid.T) Encounter {
		pair := rapid.Permutation(ids).Draw(t, "pair")
		return Encounter{pair[0], pair[1], rapid.IntRange(0, 9).Draw(t, "undecided") == 9}
	})
	return ids, rapid.SliceOfN(encounter, 0, 40).Draw(t, "encounters")
}

func counted(t *rapid.T, ids []string, encounters []Encounter) Matrix {
	m, err := FromEvents(ids, encounters)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func group(t *rapid.T, most int) Matrix {
	ids, encounters := seen(t, most)
	return counted(t, ids, encounters)
}

// summary is what of a matrix does not depend on which animal is which. Losing
// and winning changed places makes no difference to it either.
func summary(t *rapid.T, m Matrix) []float64 {
	l, k, tri, d, p := m.Linearity(), m.Kendall(), m.Triangles(), m.DavidsScore(Dij), m.DavidsScore(Pij)
	test, err := m.LinearityTest(100, 1)
	isi, err2 := m.InconsistenciesAndStrengths()
	if err != nil || err2 != nil {
		t.Fatal(err, err2)
	}
	dci, _ := m.DirectionalConsistency()
	return []float64{
		l.H, l.HPrime, k.K, tri.Ttri, float64(tri.Cyclic), dci, test.Right, test.Left,
		float64(isi.I), float64(isi.SI), float64(isi.Orders), d.Steepness, p.Steepness,
	}
}

func alike(t *rapid.T, what string, got, want []float64) {
	t.Helper()
	if !floats.EqualApprox(got, want, hair) {
		t.Fatalf("%s: %v, want %v", what, got, want)
	}
}

func TestTheOrderOfEncountersDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ids, encounters := seen(t, 8)
		a, b := counted(t, ids, encounters), counted(t, ids, rapid.Permutation(encounters).Draw(t, "shuffled"))
		for i := range ids {
			if !slices.Equal(a.Wins[i], b.Wins[i]) || !slices.Equal(a.Undecided[i], b.Undecided[i]) {
				t.Fatalf("%v, want %v", b, a)
			}
		}
	})
}

func TestRelabellingAnimalsPermutesWhatIsSaidOfThem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ids, encounters := seen(t, 6)
		m := counted(t, ids, encounters)
		other := counted(t, rapid.Permutation(ids).Draw(t, "relabelled"), encounters)
		alike(t, "the group", summary(t, other), summary(t, m))
		was, is := m.DavidsScore(Dij), other.DavidsScore(Dij)
		isiWas, _ := m.InconsistenciesAndStrengths()
		isiIs, _ := other.InconsistenciesAndStrengths()
		for i, id := range other.IDs {
			at := slices.Index(ids, id)
			alike(t, id, []float64{is.Score[i], is.Norm[i]}, []float64{was.Score[at], was.Norm[at]})
			if isiIs.Places[i] != isiWas.Places[at] {
				t.Fatalf("places of %s: %v, want %v", id, isiIs.Places[i], isiWas.Places[at])
			}
		}
	})
}

func TestTransposingTurnsTheHierarchyUpsideDown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := group(t, 6)
		down := m.Transposed()
		alike(t, "the group", summary(t, down), summary(t, m))
		for _, by := range []Proportion{Dij, Pij} {
			score := slices.Clone(m.DavidsScore(by).Score)
			floats.Scale(-1, score)
			alike(t, "David's score", down.DavidsScore(by).Score, score)
		}
		was, _ := m.InconsistenciesAndStrengths()
		is, _ := down.InconsistenciesAndStrengths()
		n := len(m.IDs) + 1
		for i, p := range was.Places {
			if is.Places[i] != [2]int{n - p[1], n - p[0]} {
				t.Fatalf("places %v, upside down %v", p, is.Places[i])
			}
		}
	})
}

func TestDavidsScoresSumToZero(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := group(t, 9)
		n := float64(len(m.IDs))
		for _, by := range []Proportion{Dij, Pij} {
			d := m.DavidsScore(by)
			alike(t, "sums", []float64{floats.Sum(d.Score), floats.Sum(d.Norm)}, []float64{0, n * (n - 1) / 2})
			if d.Steepness < -hair || d.Steepness > 1+hair || floats.Min(d.Norm) < -hair || floats.Max(d.Norm) > n-1+hair {
				t.Fatalf("out of range: %+v", d)
			}
		}
	})
}

func TestSeeingEverythingTwiceChangesOnlyDij(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ids, encounters := seen(t, 6)
		once, twice := counted(t, ids, encounters), counted(t, ids, slices.Concat(encounters, encounters))
		a, b := summary(t, once), summary(t, twice)
		a[11], b[11] = 0, 0 // steepness by Dij
		alike(t, "the group", b, a)
		alike(t, "David's score", twice.DavidsScore(Pij).Score, once.DavidsScore(Pij).Score)
	})
}

// naive goes over every outcome of the unknown dyads and, for each, over every
// tournament of as many animals.
func naive(m Matrix) (right, left float64) {
	n, unknown := len(m.IDs), m.unknown()
	var hs []float64
	tournament := func(pairs [][2]int, mask int, v []float64) float64 {
		for k, pair := range pairs {
			v[pair[mask>>k&1]]++
		}
		sum := 0.0
		for _, won := range v {
			sum += (won - float64(n-1)/2) * (won - float64(n-1)/2)
		}
		return sum
	}
	all := empty(m.IDs).unknown()
	for mask := range 1 << len(all) {
		hs = append(hs, tournament(all, mask, make([]float64, n)))
	}
	for mask := range 1 << len(unknown) {
		v := make([]float64, n)
		for i, twice := range m.doubled() {
			v[i] = float64(twice) / 2
		}
		for _, pair := range unknown {
			v[pair[0]] -= 0.5
			v[pair[1]] -= 0.5
		}
		h0 := tournament(unknown, mask, v)
		for _, h := range hs {
			if h >= h0 {
				right++
			}
			if h <= h0 {
				left++
			}
		}
	}
	pairs := math.Ldexp(1, len(all)+len(unknown))
	return right / pairs, left / pairs
}

func TestTheExactTestIsTheShareOfAllOutcomes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := group(t, 5)
		if len(m.IDs) < 3 || m.Counts().Interactions == 0 {
			t.Skip("fewer than three animals, or none that met: there is no p")
		}
		got, err := m.LinearityTest(1, 1)
		if err != nil || !got.Exact {
			t.Fatal(got, err)
		}
		right, left := naive(m)
		alike(t, "p", []float64{got.Right, got.Left}, []float64{right, left})
	})
}

// h' is the mean of h over thrown outcomes of the unknown dyads, as de Vries
// 1995 has it.
func TestHPrimeIsTheMeanOfThrownOutcomes(t *testing.T) {
	m := readVector(t, "matrix_sullivan_1982_indices.json").group(t)
	const throws = 20_000
	mean, cube := 0.0, float64(18*18*18-18)
	for squares, times := range m.outcome(m.unknown()).thrown(throws, rand.New(rand.NewPCG(3, 3))) {
		mean += (1 - 24*triads(18, squares)/cube) * times / throws
	}
	if got := m.Linearity().HPrime; math.Abs(got-mean) > 0.002 {
		t.Errorf("h' %v, thrown %v", got, mean)
	}
}

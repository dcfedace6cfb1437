package events

import (
	"fmt"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Unified Code for Units of Measure (UCUM), ucum-essence.xml 2.2: cal = cal_th
// = 4.184 J; [lb_av] = 7000 [gr], 1 [gr] = 64.79891 mg; [oz_av] = [lb_av]/16;
// MPN has no code of its own and stands in braces.
func TestUnitsConvertAsUCUMSays(t *testing.T) {
	for _, c := range []struct{ value, unit, to, want string }{
		{"1", "kcal", "kJ", "4.184"},
		{"1", "MJ", "kJ", "1000"},
		{"171", "kcal", "MJ", "0.715464"},
		{"1", "[lb_av]", "g", "453.59237"},
		{"1", "[oz_av]", "g", "28.349523125"},
		{"1", "[lb_av]", "[oz_av]", "16"},
		{"1.50", "kg", "g", "1500"},
		{"1", "ug", "kg", "0.000000001"},
		{"104.5", "cm", "mm", "1045"},
		{"2", "min", "s", "120"},
		{"1", "d", "h", "24"},
		{"1", "m3", "L", "1000"},
		{"-4.5", "Cel", "Cel", "-4.5"},
		{"999999999999999999999.99", "kg", "g", "999999999999999999999990"},
	} {
		want, _ := new(big.Rat).SetString(c.want)
		if got, err := measured(c.value, c.unit).In(c.to); err != nil || got.Cmp(want) != 0 {
			t.Errorf("%s %s is %v %s, %v; wanted %s", c.value, c.unit, got, c.to, err, c.want)
		}
	}
}

func TestWhatUCUMDoesNotKnowIsNoUnit(t *testing.T) {
	for _, trap := range []string{"Cal", "lbs", "C", "yr", "KG", "Kg", "G", "lb", "°C", "MPN/dL", "ppt", "percent", ""} {
		if KnownUnit(trap) {
			t.Errorf("%q is known", trap)
		}
		if _, err := measured("1", trap).In("kg"); err == nil {
			t.Errorf("%q converts to kg", trap)
		}
	}
	draft := goldenDraft(t, "weight.taken")
	for _, trap := range []string{"Cal", "lbs", "C", "yr", "KG"} {
		expect(t, with(t, draft, `{"mass":{"value":"81.5","unit":"`+trap+`"}}`), "data.mass.unit", `"`+trap+`"; use one of kg, g, [lb_av]`)
	}
	if _, err := measured("1", "kg").In("kcal"); err == nil {
		t.Error("a mass converts to an energy")
	}
}

func TestOnlyPlainDecimalsAreValues(t *testing.T) {
	for _, sound := range []string{"0", "81.5", "-2", "0.25", "1.50", "007", "000000000000000000000001"} {
		if _, err := measured(sound, "kg").In("kg"); err != nil {
			t.Errorf("%q is refused: %v", sound, err)
		}
	}
	for _, other := range []string{"", "-", ".", ".5", "5.", "1e3", "1/2", "0x10", "1_000", "1,5", "+1", "--1", "1.2.3", " 1", "1 ", "NaN", "Inf", "½", "٣", "0000000000000000000000001"} {
		if r, err := measured(other, "kg").In("kg"); err == nil {
			t.Errorf("%q is read as %v", other, r)
		}
		if mg := measured(other, "kg").Milligrams(); mg != 0 {
			t.Errorf("%q weighs %d mg", other, mg)
		}
	}
}

func TestMilligramsRoundToTheNearest(t *testing.T) {
	for _, c := range []struct {
		value, unit string
		want        int64
	}{
		{"1.50", "kg", 1_500_000},
		{"0.0000004", "kg", 0},
		{"0.0000005", "kg", 1}, // half goes up
		{"0.0000014999", "kg", 1},
		{"250", "g", 250_000},
		{"1.2345", "g", 1235},
		{"499", "ug", 0},
		{"500", "ug", 1},
		{"1", "[lb_av]", 453_592}, // 453592.37
		{"2", "[oz_av]", 56_699},  // 56699.04625
		{"-0.0000006", "kg", -1},
		{"4500", "kg", 4_500_000_000},
		{"999999999999", "kg", 999_999_999_999_000_000},
		{"1", "kcal", 0}, // no mass
	} {
		if got := measured(c.value, c.unit).Milligrams(); got != c.want {
			t.Errorf("%s %s is %d mg, wanted %d", c.value, c.unit, got, c.want)
		}
	}
}

func decimal() *rapid.Generator[string] {
	return rapid.StringMatching(`(0|[1-9][0-9]{0,7})(\.[0-9]{1,8})?`)
}

// The short way and the way over exact fractions give the same milligrams.
func TestMilligramsAreExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := Quantity{decimal().Draw(t, "value"), rapid.SampledFrom([]string{"kg", "g"}).Draw(t, "unit")}
		exact, err := q.In("mg")
		if err != nil {
			t.Fatal(err)
		}
		if n, ok := q.shifted(); ok && new(big.Rat).SetInt64(n).Cmp(exact) != 0 {
			t.Fatalf("%s is %v mg, the short way says %d", q, exact, n)
		}
		if off := new(big.Rat).Sub(new(big.Rat).SetInt64(q.Milligrams()), exact); off.Abs(off).Cmp(big.NewRat(1, 2)) > 0 {
			t.Fatalf("%s is %v mg and rounds to %d", q, exact, q.Milligrams())
		}
	})
}

func TestUnitsConvertThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from, to := rapid.SampledFrom(units()).Draw(t, "from"), rapid.SampledFrom(units()).Draw(t, "to")
		q := Quantity{decimal().Draw(t, "value"), from}
		there, err := q.In(to)
		if same := unitSize[from].dimension == unitSize[to].dimension; same != (err == nil) {
			t.Fatalf("%s to %s: %v", q, to, err)
		}
		if err != nil {
			return
		}
		one, _ := Quantity{"1", to}.In(from)
		itself, _ := q.In(from)
		if back := there.Mul(there, one); back.Cmp(itself) != 0 {
			t.Fatalf("%s to %s and back is %v", q, to, back)
		}
	})
}

func units() (out []string) {
	for i := range catalog {
		catalog[i].rules.each(func(r *rule) { out = append(out, r.units...) })
	}
	return out
}

// each visits every rule, those of inner structs too.
func (rs rules) each(visit func(*rule)) {
	for i := range rs {
		visit(&rs[i])
		rs[i].inner.each(visit)
	}
}

func TestEveryUnitInTheVocabularyIsKnown(t *testing.T) {
	for _, unit := range units() {
		if !KnownUnit(unit) {
			t.Errorf("%s stands in a tag and can't be converted", unit)
		}
	}
}

// The check takes a short way where a value is far from its bounds; it must
// judge as the exact value does.
func TestBoundsAreExact(t *testing.T) {
	rule := byName["weight.taken"].rules.named([]byte("mass"))
	for value, sound := range map[string]bool{
		"0.5": true, "0.4999999999999999999999": false, "4500": true, "4500.00000000000000001": false, "4499.9999999999999999": true,
	} {
		var out Problems
		if rule.checkQuantity(measured(value, "kg"), &out); (len(out) == 0) != sound {
			t.Errorf("%s kg: %v", value, out)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom(rule.units).Draw(t, "unit")
		q := Quantity{rapid.StringMatching(`-?[0-9]{1,8}(\.[0-9]{1,6})?`).Draw(t, "value"), unit}
		var out Problems
		rule.checkQuantity(q, &out)
		exact, _ := q.In("kg")
		if sound := exact.Cmp(rule.min) >= 0 && exact.Cmp(rule.max) <= 0; sound != (len(out) == 0) {
			t.Fatalf("%s: %v", q, out)
		}
	})
}

func TestQuantitySaysItsDigits(t *testing.T) {
	q := measured("1.50", "kg")
	if q.String() != "1.50 kg" || q.IsZero() || !(Quantity{}).IsZero() {
		t.Errorf("%s", q)
	}
	if f := q.Float("g"); f != 1500 {
		t.Errorf("is %v g", f)
	}
	if f := q.Float("kcal"); f != 0 {
		t.Errorf("is %v kcal", f)
	}
	if long := measured(strings.Repeat("9", 500), "kg"); len(fmt.Sprint(long.In("kg"))) > 200 {
		t.Error("a problem repeats all of a long value")
	}
}

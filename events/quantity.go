package events

import (
	"fmt"
	"math/big"
	"strconv"
)

// Quantity is a measured value as it was read: the digits of the instrument
// and a UCUM unit code. It travels as text so that 1.50 never becomes 1.5.
type Quantity struct {
	Value string `json:"value"`
	Unit  string `json:"unit"`
}

// IsZero says that nothing was measured.
func (q Quantity) IsZero() bool { return q == Quantity{} }

func (q Quantity) String() string { return q.Value + " " + q.Unit }

// unitSize gives each linear unit its dimension and its exact size in the
// smallest unit of that dimension. Source: UCUM 2.2; 1 [lb_av] = 453.59237 g
// and 1 cal_th = 4.184 J are exact by definition.
var unitSize = map[string]struct {
	dimension string
	size      *big.Rat
}{
	"ug": {"mass", big.NewRat(1, 1)}, "mg": {"mass", big.NewRat(1e3, 1)}, "g": {"mass", big.NewRat(1e6, 1)},
	"kg": {"mass", big.NewRat(1e9, 1)}, "[lb_av]": {"mass", big.NewRat(453592370, 1)}, "[oz_av]": {"mass", big.NewRat(453592370, 16)},
	"mm": {"length", big.NewRat(1, 1)}, "cm": {"length", big.NewRat(10, 1)}, "m": {"length", big.NewRat(1000, 1)},
	"m2": {"area", big.NewRat(1, 1)}, "m3": {"volume", big.NewRat(1e6, 1)}, "L": {"volume", big.NewRat(1e3, 1)}, "mL": {"volume", big.NewRat(1, 1)},
	"ms": {"time", big.NewRat(1, 1)}, "s": {"time", big.NewRat(1e3, 1)}, "min": {"time", big.NewRat(6e4, 1)}, "h": {"time", big.NewRat(36e5, 1)}, "d": {"time", big.NewRat(864e5, 1)},
	"kJ": {"energy", big.NewRat(1000, 1)}, "MJ": {"energy", big.NewRat(1e6, 1)}, "kcal": {"energy", big.NewRat(4184, 1)},
	"mo": {"months", big.NewRat(1, 1)}, // a count of calendar months, which have no one length in days
	"%":  {"share", big.NewRat(1, 1)}, "mg/kg": {"dose", big.NewRat(1, 1)}, "[iU]/kg": {"potency", big.NewRat(1, 1)},
	"Cel": {"temperature", big.NewRat(1, 1)}, "[pH]": {"acidity", big.NewRat(1, 1)}, "[ppth]": {"salinity", big.NewRat(1, 1)},
	"mg/L": {"concentration", big.NewRat(1, 1)}, "{MPN}/dL": {"count", big.NewRat(1, 1)}, "[CFU]/dL": {"colonies", big.NewRat(1, 1)},
	"[iU]": {"units", big.NewRat(1, 1)}, "{tablet}": {"tablets", big.NewRat(1, 1)}, "1": {"number", big.NewRat(1, 1)},
}

// KnownUnit says whether the program can convert the unit.
func KnownUnit(unit string) bool { _, ok := unitSize[unit]; return ok }

// In gives the exact value in another unit of the same dimension.
func (q Quantity) In(unit string) (*big.Rat, error) {
	value, err := parseDecimal(q.Value)
	if err != nil {
		return nil, err
	}
	from, ok := unitSize[q.Unit]
	to, known := unitSize[unit]
	if !ok || !known || from.dimension != to.dimension {
		return nil, fmt.Errorf("%s is not a unit that converts to %s", q.Unit, unit)
	}
	return value.Mul(value, new(big.Rat).Quo(from.size, to.size)), nil
}

// Float is In as a float64, 0 where it can't be converted. Bodies are checked
// before they are stored, so a fold may rely on it.
func (q Quantity) Float(unit string) float64 {
	if unit == q.Unit && KnownUnit(unit) && plainDecimal(q.Value) { // the nearest of the same decimal either way
		f, _ := strconv.ParseFloat(q.Value, 64)
		return f
	}
	r, err := q.In(unit)
	if err != nil {
		return 0
	}
	f, _ := r.Float64()
	return f
}

// Milligrams is the mass as a whole number, so that sums are exact in any order.
func (q Quantity) Milligrams() int64 {
	if n, ok := q.shifted(); ok {
		return n
	}
	r, err := q.In("mg")
	if err != nil {
		return 0
	}
	half := new(big.Rat).Add(r, big.NewRat(1, 2))
	return new(big.Int).Div(half.Num(), half.Denom()).Int64()
}

// shifted reads plain kg and g decimals without big numbers; feeds are most of
// all records, and each has several.
func (q Quantity) shifted() (n int64, ok bool) {
	places := 6
	switch q.Unit {
	case "kg":
	case "g":
		places = 3
	default:
		return 0, false
	}
	point, decimals := -1, 0
	for i := range len(q.Value) {
		digit := q.Value[i]
		if digit == '.' && point < 0 && i > 0 {
			point = i
			continue
		}
		if digit < '0' || digit > '9' {
			return 0, false
		}
		n = n*10 + int64(digit-'0')
	}
	if point >= 0 {
		decimals = len(q.Value) - point - 1
	}
	if len(q.Value) == 0 || len(q.Value) > 12 || decimals > places || point == len(q.Value)-1 {
		return 0, false
	}
	for ; decimals < places; decimals++ {
		n *= 10
	}
	return n, true
}

// plainDecimal takes plain decimals alone: 81.5, -2, 0.25. No exponent, no
// fraction, no infinity, at most 24 characters.
func plainDecimal(s string) bool {
	digits, dots := 0, 0
	for i := range len(s) {
		switch b := s[i]; {
		case b >= '0' && b <= '9':
			digits++
		case b == '.' && digits > 0:
			dots++
		case b == '-' && i == 0:
		default:
			return false
		}
	}
	return digits > 0 && dots <= 1 && len(s) <= 24 && s[len(s)-1] != '.'
}

func parseDecimal(s string) (*big.Rat, error) {
	if !plainDecimal(s) {
		return nil, fmt.Errorf("%q is not a plain decimal number", short(s))
	}
	r, _ := new(big.Rat).SetString(s)
	return r, nil
}

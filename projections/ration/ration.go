// Package ration turns the energy that an animal is to get in a day into whole
// portions of the foods at hand. It is pure: numbers in, numbers out.
//
// A plan is a planning aid. Veterinarian and nutritionist decide.
package ration

import (
	_ "embed"
	"encoding/json"
)

// Item is a food that a plan may use. What is nil is not known; that differs
// from zero, and nothing is ever worked out from it.
type Item struct {
	Name         string
	KcalPerKg    float64
	WaterPerKg   *float64 // g
	FatPerKg     *float64 // g
	ProteinPerKg *float64 // g
	CostPerKg    *float64 // in the facility's own money
	StockKg      *float64 // nil: as much as is asked for
	DueKg        float64  // thawed already, and to be used today or discarded
	MinShare     float64  // of the mass of the plan, in this season
	MaxShare     *float64 // nil: up to the whole
	PortionKg    float64
	Yesterday    *int // portions; nil for every food: nothing to change from
}

// Before is yesterday's portions; none where the food was not fed.
func (item Item) Before() int {
	if item.Yesterday == nil {
		return 0
	}
	return *item.Yesterday
}

// Wanted is what a day's plan is to give.
type Wanted struct {
	Kcal       float64
	ProteinG   *float64 // nil: whatever comes with the energy
	WaterG     *float64 // at least; asked of Cheapest alone, and told of in a plan
	BodyMassKg *float64 // nil: the daily ceiling can't be held
	Sessions   int      // that the portions are spread over
	Exact      bool     // only plans of exactly the least deviation tie
}

// Constant is a number of the trade with where it comes from.
type Constant struct {
	Name     string  `json:"name"`
	Value    float64 `json:"value"`
	Low      float64 `json:"low"`
	High     float64 `json:"high"`
	Unit     string  `json:"unit"` // UCUM
	Source   string  `json:"source"`
	Verified bool    `json:"verified"` // false where it is an assumption or from memory
}

//go:embed limits-2026-11.json
var limitsFile []byte

var reference = func() (out struct {
	DailyCeiling Constant `json:"daily_ceiling"`
}) {
	if err := json.Unmarshal(limitsFile, &out); err != nil {
		panic("ration: the reference file of limits: " + err.Error())
	}
	return out
}()

// DailyCeiling is the most food a day as a share of body mass. No plan goes
// above it.
func DailyCeiling() Constant { return reference.DailyCeiling }

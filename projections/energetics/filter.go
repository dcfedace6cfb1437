package energetics

import "math"

// model is one supposition about what nobody can read off the record: the
// energy of a kilogram of change, and how well weigh-ins are taken. Under it
// mass and the animal's own factor are followed by an extended Kalman filter;
// the suppositions are then weighed by how well each foretold the weigh-ins.
//
// The state is mass (kg) and the logarithm of the animal's own factor, relative
// to that of its class. A day moves it by
//
//	mass += (eaten - factor × Kleiber(mass)) / tissue
type model struct {
	tissue float64 // kcal/kg
	noise  float64 // times the usual error of a weigh-in
	chance float64 // logarithm of its weight

	mass, own     float64
	pMM, pMO, pOO float64 // covariance
	sMass, sOwn   float64 // how far a change of the prior factor would still move the state
}

// suppositions and the weight that each has before anything is seen. Tissue is
// spread over its published range, most weight in the middle.
var (
	noises       = []float64{0.5, 1, 2}
	noiseWeights = []float64{1, 2, 1}
	tissueSteps  = []float64{-1, -0.5, 0, 0.5, 1} // from the low end of the range to the high one
	tissueWeight = []float64{1, 2, 3, 2, 1}
)

func newModels(prior Need) (out []model) {
	t := Tissue()
	for i, step := range tissueSteps {
		mj := t.Value + step*(t.High-t.Value)
		if step < 0 {
			mj = t.Value + step*(t.Value-t.Low)
		}
		for j, noise := range noises {
			out = append(out, model{
				tissue: mj * kcalPerMJ, noise: noise, chance: math.Log(tissueWeight[i] * noiseWeights[j]),
				pOO: prior.Spread * prior.Spread, sOwn: 1,
			})
		}
	}
	return out
}

// need is what the body takes in a day under the model, in kcal.
func (m *model) need(class float64) float64 {
	return class * math.Exp(m.own) * Kleiber(m.mass)
}

// day lets a day pass: kcal eaten with its standard deviation, the factor of
// the class, and the day's drifts as variances.
func (m *model) day(kcal, sd, class, massDrift, ownDrift float64) {
	need := m.need(class)
	a, b := 1-0.75*need/(m.mass*m.tissue), -need/m.tissue
	from := m.mass
	m.mass = max(m.mass+(kcal-need)/m.tissue, from/2)
	m.pMM = a*a*m.pMM + 2*a*b*m.pMO + b*b*m.pOO + sd*sd/(m.tissue*m.tissue) + massDrift*from*from
	m.pMO = a*m.pMO + b*m.pOO
	m.pOO += ownDrift
	m.sMass = a*m.sMass + b*m.sOwn
}

// weigh takes in a weigh-in with its variance.
func (m *model) weigh(kg, variance float64) {
	s := m.pMM + variance
	off := kg - m.mass
	gainM, gainO := m.pMM/s, m.pMO/s
	m.chance -= 0.5 * (off*off/s + math.Log(s))
	m.mass, m.own = m.mass+gainM*off, m.own+gainO*off
	m.sMass, m.sOwn = m.sMass-gainM*m.sMass, m.sOwn-gainO*m.sMass
	m.pOO -= gainO * m.pMO
	m.pMO -= gainM * m.pMO
	m.pMM -= gainM * m.pMM
}

// restart puts the mass at a weigh-in and keeps what is known of the factor.
func (m *model) restart(kg, variance float64) {
	m.mass, m.pMM, m.pMO, m.sMass = kg, variance, 0, 0
}

// weights gives each model its share of the evidence.
func weights(models []model) []float64 {
	top, sum := math.Inf(-1), 0.0
	for i := range models {
		top = max(top, models[i].chance)
	}
	out := make([]float64, len(models))
	for i := range models {
		out[i] = math.Exp(models[i].chance - top)
		sum += out[i]
	}
	for i := range out {
		out[i] /= sum
	}
	return out
}

// mixtureOf makes a mixture of what each model says.
func mixtureOf(models []model, say func(*model) (mean, variance float64)) mixture {
	out := make(mixture, len(models))
	for i, w := range weights(models) {
		mean, variance := say(&models[i])
		out[i] = bell{w, mean, math.Sqrt(max(variance, 1e-12))}
	}
	return out
}

func massOf(m *model) (float64, float64) { return m.mass, m.pMM }

// logNeed is the logarithm of the day's need in kcal for a class factor.
func logNeed(class float64) func(*model) (float64, float64) {
	return func(m *model) (float64, float64) {
		byMass := 0.75 / m.mass
		return math.Log(m.need(class)), m.pOO + 2*byMass*m.pMO + byMass*byMass*m.pMM
	}
}

// logFactor is the logarithm of the animal's factor for a class factor.
func logFactor(class float64) func(*model) (float64, float64) {
	return func(m *model) (float64, float64) { return math.Log(class) + m.own, m.pOO }
}

// variance of one weigh-in under a model.
func (m *model) variance(w Weighing) float64 {
	sd := max(needs.Constants["scale_error"].Value*w.Kg, needs.Constants["scale_least"].Value) * m.noise
	if w.Guess {
		sd = needs.Constants["guess_error"].Value * w.Kg
	}
	return sd * sd
}

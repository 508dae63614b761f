package simulated

import (
	"math"
	"math/rand/v2"

	"evenbell/coach"
)

// Model holds the numbers of the simulated world.
type Model struct {
	Median, Spread       float64 // kg lifted once: median, and sigma of its logarithm
	GainLeast, GainMost  float64 // share gained at the plateau
	GainSessions         float64 // sessions to 63 % of it
	Fresh                float64 // days away without loss
	Loss                 float64 // share lost a day after that
	DayToDay             float64 // standard deviation, share
	CurveLeast           float64 // of Epley's constant
	CurveMost            float64
	ErrorNear, ErrorFar  float64 // standard deviation of the reserve named, repetitions
	Near                 float64 // repetitions left that count as near
	Lean                 float64 // each person's own, up to this
	Unanswered           float64
	VisitsAWeek          int
	MissMost             float64 // each person misses a share from none to this
	AbsenceAWeek         float64
	AbsenceWeeks         [2]int
	Stop                 float64 // a session
	ClearDays            int
	Approves             float64
	TrialReps, TrialLeft int
}

// Standard is the model as the package comment states it.
func Standard() Model {
	return Model{
		Median: 9, Spread: 0.4, GainLeast: 0.10, GainMost: 0.40, GainSessions: 30,
		Fresh: 10, Loss: 0.005, DayToDay: 0.03, CurveLeast: 15, CurveMost: 60,
		ErrorNear: 1, ErrorFar: 2.3, Near: 2, Lean: 1, Unanswered: 0.03,
		VisitsAWeek: 2, MissMost: 0.4, AbsenceAWeek: 1.0 / 60, AbsenceWeeks: [2]int{2, 6},
		Stop: 1.0 / 500, ClearDays: 3, Approves: 0.95, TrialReps: 10, TrialLeft: 2,
	}
}

// person is one simulated patient; what is true of them no rule ever sees.
type person struct {
	m       Model
	r       *rand.Rand
	at0     float64 // kg lifted once at the beginning
	now     float64
	plateau float64
	curve   float64
	lean    float64
	misses  float64
}

func newPerson(m Model, r *rand.Rand) *person {
	p := &person{m: m, r: r}
	p.at0 = m.Median * math.Exp(m.Spread*r.NormFloat64())
	p.now = p.at0
	p.plateau = p.at0 * (1 + m.GainLeast + (m.GainMost-m.GainLeast)*r.Float64())
	// Even in the logarithm, so that 30 lies in the middle of 15 and 60.
	p.curve = m.CurveLeast * math.Pow(m.CurveMost/m.CurveLeast, r.Float64())
	p.lean = m.Lean * (2*r.Float64() - 1)
	p.misses = m.MissMost * r.Float64()
	return p
}

// allows is how many repetitions a load truly allows, for a person who can
// lift most once.
func (p *person) allows(load coach.Load, most float64) float64 {
	return p.curve * (most/(load.Grams()/1000) - 1)
}

// today is how much can be lifted once on one day.
func (p *person) today() float64 { return p.now * (1 + p.m.DayToDay*p.r.NormFloat64()) }

// set is what a person shows of a set: whether they ended it themselves, and
// the reserve they name, empty where they did not answer.
func (p *person) set(d coach.Dose, most float64) (short bool, named coach.Reserve) {
	left := math.Floor(p.allows(d.Load, most)) - float64(d.Reps)
	spread := p.m.ErrorFar
	if left <= p.m.Near {
		spread = p.m.ErrorNear
	}
	felt := left + p.lean + spread*p.r.NormFloat64()
	if left < 0 || felt < -1 {
		return true, coach.ReserveNone
	}
	switch {
	case p.r.Float64() < p.m.Unanswered:
		return false, ""
	case felt < 1.5:
		return false, coach.ReserveNone
	case felt < 4.5:
		return false, coach.ReserveFew
	}
	return false, coach.ReserveMany
}

// trained is the gain of one session.
func (p *person) trained() {
	if p.now < p.plateau {
		p.now += (p.plateau - p.now) / p.m.GainSessions
	}
}

// away is the loss of so many days without a session.
func (p *person) away(days int) {
	if lost := float64(days) - p.m.Fresh; lost > 0 {
		p.now = math.Max(p.at0, p.now*math.Pow(1-p.m.Loss, lost))
	}
}

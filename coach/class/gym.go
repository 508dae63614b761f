package class

import (
	"time"

	"evenbell/coach"
	"evenbell/coach/circuit"
)

// Gym is a class ready to be timetabled.
type Gym struct {
	*Class
	Problem *circuit.Problem
	Stays   [][]Stay // [patient], beside the patient's work visits
}

// Measure tells how long a station's session takes a patient who answers at
// once: seconds from its beginning to the first item, and in all, both rounded
// up.
type Measure func(who coach.Programme) (lead, total int, err error)

// Prepare works out who does what where, and how long it takes. An error that
// is circuit.ErrImpossible says what no place can host.
func Prepare(c *Class, measure Measure) (*Gym, error) {
	g := &Gym{Class: c, Problem: c.gym()}
	load := make([]int, len(c.Places))
	for _, v := range c.Plan.Patients {
		who, err := c.Plan.Resolve(v.Tag, c.Plan.Day)
		if err != nil {
			return nil, err
		}
		stays, err := c.share(who, c.Fixed[v.Tag], load)
		if err != nil {
			return nil, err
		}
		g.Stays = append(g.Stays, stays)
		rest := time.Duration(0)
		for _, it := range who.Items {
			rest = max(rest, it.Pace.Rest)
		}
		visits, err := c.visits(who, stays, measure)
		if err != nil {
			return nil, err
		}
		g.Problem.Patients = append(g.Problem.Patients, circuit.Patient{Tag: v.Tag, Arrives: c.Arrives[v.Tag],
			Rest: int((rest + time.Second - 1) / time.Second), Fixed: c.Fixed[v.Tag], MatLast: c.MatLast, Visits: visits})
	}
	return g, nil
}

// gym is the places with the areas behind them, and the walks between.
func (c *Class) gym() *circuit.Problem {
	p := &circuit.Problem{Latest: c.Latest}
	for _, pl := range c.Places {
		p.Places = append(p.Places, circuit.Place{Name: pl.Name, Capacity: 1})
	}
	for _, a := range []Area{c.WarmUp, c.CoolDown} {
		p.Places = append(p.Places, circuit.Place{Name: a.Name, Capacity: a.Capacity})
	}
	for _, a := range p.Places {
		row := make([]int, len(p.Places))
		for i, b := range p.Places {
			switch s, said := c.Walks[[2]string{a.Name, b.Name}]; {
			case said:
				row[i] = s
			case a.Name != b.Name:
				row[i] = c.Walk
			}
		}
		p.Walk = append(p.Walk, row)
	}
	return p
}

// At writes seconds from the beginning as the time of day, with seconds.
func (c *Class) At(s int) string { return c.clock(s).Format("15:04:05") }

// clock is so many seconds from the beginning, on a day of no meaning.
func (c *Class) clock(s int) time.Time {
	return time.Time{}.Add(time.Duration(c.Begins.Minutes())*time.Minute + time.Duration(s)*time.Second)
}

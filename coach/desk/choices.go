package desk

import (
	"context"
	"fmt"
	"slices"

	"evenbell/coach"
	"evenbell/coach/catalogue"
)

// Choice is one exercise a patient may be given in place of another.
type Choice struct {
	Exercise coach.Exercise
	Stage    coach.Stage
	Sides    coach.Sides
	Barred   *coach.Precaution // the precaution it goes against; nil for none
	Advised  bool              // what the catalogue advises under these precautions
}

// Choices are what a patient may do in place of an exercise (WritePlan): what
// the catalogue advises first, then every other stage of it, then what works
// the same muscle most. What a precaution bars is there too, and says so.
func (d *Desk) Choices(ctx context.Context, who Actor, tag, exercise string) ([]Choice, error) {
	s, err := d.suggester(ctx, who, tag)
	if err != nil {
		return nil, err
	}
	e, ok := catalogue.Find(exercise)
	if !ok {
		return nil, fmt.Errorf("%w: no exercise is called %q", ErrNotFound, exercise)
	}
	var out []Choice
	add := func(c Choice) {
		if p, barred := catalogue.BarredBy(c.Stage, c.Sides, s.given); barred {
			c.Barred = &p
		}
		same := func(o Choice) bool { return o.Exercise.ID == c.Exercise.ID && o.Stage.ID == c.Stage.ID }
		if !slices.ContainsFunc(out, same) {
			out = append(out, c)
		}
	}
	if c, ok := catalogue.Alternative(exercise, s.given); ok {
		other, _ := catalogue.Find(c.Exercise)
		st, _ := catalogue.Stage(other, c.Stage)
		add(Choice{Exercise: other, Stage: st, Sides: c.Sides, Advised: true})
	}
	for _, other := range append([]coach.Exercise{e}, sameMuscle(e)...) {
		for _, st := range other.Stages {
			add(Choice{Exercise: other, Stage: st, Sides: freeSides(st, s.given)})
		}
	}
	return out, nil
}

// freeSides is the first way of sharing the sides that nothing bars, or the
// default.
func freeSides(st coach.Stage, given []coach.Precaution) coach.Sides {
	for _, sides := range st.Sides {
		if _, barred := catalogue.BarredBy(st, sides, given); !barred {
			return sides
		}
	}
	return st.Sides[0]
}

func sameMuscle(e coach.Exercise) []coach.Exercise {
	var out []coach.Exercise
	for _, o := range catalogue.All() {
		if o.ID != e.ID && o.Muscles[0] == e.Muscles[0] {
			out = append(out, o)
		}
	}
	return out
}

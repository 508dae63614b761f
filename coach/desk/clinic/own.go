package clinic

import (
	"context"
	"fmt"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/plan"
)

// ownExercise is what the invented clinic teaches and the catalogue has not.
const ownExercise = `format = "exercises/1"
[[exercise]]
id = "own-rope-pull"
name = "rope pull"
set_up = "Sit tall at the front of the chair. Hold the rope with both hands."
care = "Keep your shoulders low, and breathe."
region = "upper"
muscles = ["upper back", "biceps"]
position = "seated"
first = "lift"
sides = ["both"]
loads = ["band"]
bars = ["sternum", "shoulder", "wrist"]
verbs_of = "dumbbell-row"
`

// teach adds the clinic's own exercise, with its name recorded where somebody
// can say it, and lets the supervisor sign it.
func (p *Past) teach(ctx context.Context) error {
	own, faults := plan.ReadOwn("own", []byte(ownExercise))
	if own == nil {
		return desk.Faulty{Faults: faults}
	}
	e := own[0]
	if err := p.Desk.KeepExercise(ctx, p.Assistant, e, true); err != nil {
		return err
	}
	if p.Say != nil {
		if file, err := p.Say(ctx, e.Name); err == nil {
			if err := p.Desk.Record(ctx, p.Assistant, e.ID, coach.NameLine, e.Name, file); err != nil {
				return fmt.Errorf("recording %s: %w", e.ID, err)
			}
		}
	}
	all, err := p.Desk.Exercises(ctx, p.Supervisor)
	if err != nil {
		return err
	}
	return p.Desk.SignExercise(ctx, p.Supervisor, e.ID, all[0].Fingerprint())
}

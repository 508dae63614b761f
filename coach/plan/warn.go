package plan

import (
	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/strict"
)

// warnOfOrder looks at items that follow one another: who is down on the mat
// stays down, and a muscle rests before it works again. Both are common
// practice, no source.
func (p *Plan) warnOfOrder(tables []*strict.Table, items []Item) {
	for i := 1; i < len(items); i++ {
		before, stageBefore, ok := p.facts(items[i-1])
		if !ok {
			continue
		}
		this, stage, ok := p.facts(items[i])
		if !ok {
			continue
		}
		if stageBefore.Position.OnMat() && !stage.Position.OnMat() {
			tables[i].Warn("exercise", "%s (%s) comes after %s on the mat; who is down stays down: put it before the mat work",
				this.ID, stage.Position, before.ID)
		}
		if this.Muscles[0] == before.Muscles[0] {
			tables[i].Warn("exercise", "%s works the %s, as %s just before it; put another exercise between them",
				this.ID, this.Muscles[0], before.ID)
		}
	}
}

// facts are what is known of an item's exercise.
func (p *Plan) facts(v Item) (coach.Exercise, coach.Stage, bool) {
	ex, ok := p.Exercise(v.Exercise)
	if !ok || len(ex.Muscles) == 0 {
		return ex, coach.Stage{}, false
	}
	stage, ok := catalogue.Stage(ex, v.Dose.Stage)
	return ex, stage, ok
}

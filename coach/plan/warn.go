package plan

import (
	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/strict"
)

// warnOfOrder looks at items that follow one another: who is down on the mat
// stays down, and a muscle rests before it works again. Both are common
// practice, no source.
func warnOfOrder(tables []*strict.Table, items []Item) {
	for i := 1; i < len(items); i++ {
		before, stageBefore, ok := facts(items[i-1])
		if !ok {
			continue
		}
		this, stage, ok := facts(items[i])
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

// facts are what the catalogue knows of an item.
func facts(v Item) (coach.Exercise, coach.Stage, bool) {
	ex, ok := catalogue.Find(v.Exercise)
	if !ok {
		return ex, coach.Stage{}, false
	}
	stage, ok := catalogue.Stage(ex, v.Dose.Stage)
	return ex, stage, ok
}

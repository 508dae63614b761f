package web

import (
	"errors"

	"evenbell/coach"
	"evenbell/coach/desk"
)

// lineNames are the lines of an exercise of the clinic's own, as pages name
// them.
var lineNames = map[coach.OwnLine]string{coach.NameLine: "The name, as in the middle of a sentence",
	coach.SetUpLine: "How to get into position", coach.CareLine: "The one caution that matters"}

func lineName(l coach.OwnLine) string { return lineNames[l] }

// fileField is the field of a recording's file; each line has one of its own
// on the page.
const fileField = "file"

// recordLine keeps a recording of a line that was sent as a file.
func recordLine(v *visit) error {
	id, line := v.r.PathValue("id"), coach.OwnLine(v.r.PathValue("line"))
	if _, err := v.ownExercise(id); err != nil {
		return err
	}
	if lineName(line) == "" {
		return missing("line")
	}
	f, file, err := v.sentFile(fileField)
	if err != nil {
		return err
	}
	if f.ok() {
		err := v.desk().Record(v.ctx(), v.who, id, line, f.value("words"), file)
		switch {
		case err == nil:
			return v.back("/clinic/exercises/"+id+"#recorded", "The recording is kept. Stations speak it once a supervisor has signed it.")
		case errors.Is(err, desk.ErrChanged):
			f.fault(fileField, "Other words stand here now than those you recorded. Record these.")
		default:
			if err := f.refused(err); err != nil {
				return err
			}
		}
	}
	p, err := v.keptExercise(id)
	if err != nil {
		return err
	}
	for _, x := range f.Faults {
		p.Recording.fault(fileField+"."+string(line), "%s: %s", lineName(line), x.Words)
	}
	return v.again("clinic-exercise", capital(p.Kept.Name), p)
}

// playRecording is a recording as stations get it.
func playRecording(v *visit) error {
	sound, err := v.desk().Recording(v.ctx(), v.who, v.r.PathValue("hash"))
	if err != nil {
		return err
	}
	return v.sound("audio/wav", sound)
}

func removeRecording(v *visit) error {
	f, err := v.sent()
	if err != nil {
		return err
	}
	if err := v.desk().RemoveRecording(v.ctx(), v.who, v.r.PathValue("hash")); err != nil {
		return err
	}
	back := "/clinic/exercises"
	if id := f.Get("of"); coach.IsOwn(id) {
		back += "/" + id + "#recorded"
	}
	return v.back(back, "The recording is taken away. A machine speaks the words again, where one can.")
}

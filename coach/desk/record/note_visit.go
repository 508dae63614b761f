package record

import (
	"fmt"
	"strings"
	"time"

	"evenbell/coach"
	"evenbell/coach/review"
)

// at says where something was done, in the note of a visit.
func (in NoteInput) at(s Session, what string) string {
	if in.Visit == nil || s.Station == "" {
		return what
	}
	return s.Station + ": " + what
}

// visitCourse is when, and how the whole of it ended.
func (in NoteInput) visitCourse() []string {
	v := in.Visit
	end := v.End()
	if !v.Over() && !v.WentNoFurther() {
		end = time.Time{} // what is here of it may not be all
	}
	out := []string{in.Clinic.when(v.Start(), end)}
	if n := len(in.Sessions); n > 1 {
		out = append(out, fmt.Sprintf("It was done in %d parts.", n))
	}
	decided := in.with(v.Decided().ID)
	switch {
	case v.WentNoFurther():
		out = append(out, joined(" ", "It went no further than", in.Sessions[len(in.Sessions)-1].Station)+".")
	case !v.Over():
		out = append(out, "Its end is not in the log.")
	case v.Outcome() == coach.Completed:
		out = append(out, "It was completed.")
	default:
		out = append(out, upper(joined(" at ", "it was "+decided.ended(), decided.Station))+".")
	}
	for _, s := range in.Sessions {
		out = append(out, s.closing()...)
	}
	for _, what := range v.NotHere() {
		out = append(out, upper(what)+".")
	}
	return out
}

// partWords is a part of the day's session; of those between there may be many.
func partWords(p coach.Part) string {
	if p == coach.Middle {
		return "a middle part"
	}
	return "the " + string(p) + " part"
}

// with is the session of an id, among those of the note.
func (in NoteInput) with(id string) Session {
	for _, s := range in.Sessions {
		if s.ID == id {
			return s
		}
	}
	return Session{Session: &review.Session{}}
}

// places are the parts in their order.
func (in NoteInput) places() []string {
	var out []string
	for _, s := range in.Sessions {
		var when string
		if !s.Start.IsZero() {
			when = in.Clinic.in(s.Start).Format("15:04") + " to " + in.Clinic.in(s.End).Format("15:04")
		}
		if s.Within > 0 {
			when += ", give or take " + minutes(s.Within)
		}
		part := ""
		if s.Part != "" && s.Part != coach.Whole {
			part = partWords(s.Part)
		}
		how := s.ended()
		if s.Outcome == "" {
			how = "its end is not in the log"
		}
		out = append(out, joined(": ", joined(", ", s.Station, part, when), how)+".")
	}
	return out
}

// between are the rests from place to place.
func (in NoteInput) between() []string {
	if in.Visit == nil {
		return nil
	}
	var rests, out []string
	for _, b := range in.Visit.Breaks() {
		from, to := in.with(b.From.ID).Station, in.with(b.To.ID).Station
		if b.Rest < 0 {
			out = append(out, fmt.Sprintf("The clocks of %s and %s differ by more than %s, so that nobody can tell the rest between them.", from, to, minutes(-b.Rest)))
			continue
		}
		rest := fmt.Sprintf("%s from %s to %s", minutes(b.Rest), from, to)
		if b.Within > 0 {
			rest += " (give or take " + minutes(b.Within) + ")"
		}
		rests = append(rests, rest)
	}
	if len(rests) > 0 {
		out = append([]string{"Between the places, from the last set at one to the first at the next: " + strings.Join(rests, ", ") + "."}, out...)
	}
	return out
}

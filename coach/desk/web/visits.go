package web

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/record"
	"evenbell/coach/desk/store"
	"evenbell/coach/review"
)

// visited is one visit as a list shows it.
type visited struct {
	review.Visit
	places desk.Places
	now    bool // under way at a station
}

// visited is a visit as it is shown at this moment.
func (v *visit) visited(of review.Visit, places desk.Places) visited {
	last := of.Stays[len(of.Stays)-1]
	return visited{of, places, of.Outcome() == "" && v.desk().UnderWay(last.ID)}
}

// visits are those of a review, newest first.
func (v *visit) visits(got *desk.Reviewed) []visited {
	var out []visited
	for _, of := range slices.Backward(got.Visits) {
		out = append(out, v.visited(of, got.Places))
	}
	return out
}

// Path is the visit's page: that of its session where there is but one.
func (v visited) Path() string {
	if v.Joined() {
		return "/visits/" + v.ID()
	}
	return "/sessions/" + v.ID()
}

// Where are the places, each once, in their order.
func (v visited) Where() []string {
	var out []string
	for _, s := range v.Stays {
		if at := v.places[s.ID]; at != "" && !slices.Contains(out, at) {
			out = append(out, at)
		}
	}
	return out
}

// place is where a stay was, for words.
func (v visited) place(s review.Stay) string {
	if at := v.places[s.ID]; at != "" {
		return at
	}
	return "a place nobody knows"
}

// Ended says how the visit ended and, where it went from place to place, where.
func (v visited) Ended() string {
	if v.now {
		return "exercising now"
	}
	words := endWords(v.Outcome())
	decided := v.Decided()
	switch {
	case !v.Joined():
	case v.WentNoFurther():
		words = "went no further than " + v.place(decided)
	case v.Outcome() == "":
		words = "end not here yet"
	case v.Outcome() == coach.Stopped && decided.Outcome == coach.NotStarted:
		words = "not started at " + v.place(decided)
	case v.Outcome() != coach.Completed:
		words += " at " + v.place(decided)
	}
	for _, s := range v.Unended() {
		words += ", cut off at " + v.place(s)
	}
	if v.Doubtful() {
		words += ", doubtful"
	}
	return words
}

// Kind is the kind of state that shows how the visit ended.
func (v visited) Kind() string {
	kind := outcomeKind(v.Outcome())
	if v.now {
		return kind
	}
	if kind != "bad" && (v.Doubtful() || len(v.Unended()) > 0 || v.WentNoFurther() || kind == "good" && !v.Whole()) {
		return "warn"
	}
	return kind
}

// outcomeKind is the kind of state that shows how a session ended.
func outcomeKind(o coach.Outcome) string {
	switch {
	case o == coach.Completed:
		return "good"
	case o == coach.Stopped, o == coach.NotStarted:
		return "bad"
	case o == "":
		return "info"
	}
	return "warn"
}

// Exercises counts those that at least one repetition was led of. A visit that
// was not done to its end does not say how many more there would have been.
func (v visited) Exercises() string {
	n := 0
	for _, it := range v.Items() {
		if it.Worked() {
			n++
		}
	}
	switch {
	case len(v.Items()) == 0:
		return "none"
	case v.Outcome() == coach.Completed:
		return fmt.Sprintf("%d of %d", n, len(v.Items()))
	}
	return fmt.Sprintf("%d begun", n)
}

// Look is what of the visit's log is worth a look; while it is under way, that
// its end is missing is not.
func (v visited) Look() string {
	out := v.NotHere()
	for _, s := range v.Stays {
		if v.Joined() && s.Part != coach.Whole && s.Start.IsZero() {
			out = append(out, "it is joined to the other parts once a contact has dated it")
		}
	}
	if !v.now {
		for _, m := range v.Marks() {
			out = append(out, string(m))
		}
	}
	return strings.Join(append(out, v.clocks()...), "; ")
}

// clocks says where the stations' clocks contradict each other.
func (v visited) clocks() []string {
	var out []string
	for _, b := range v.Breaks() {
		if b.Rest < 0 {
			out = append(out, fmt.Sprintf("the clocks of %s and %s differ by more than %s", v.place(b.From), v.place(b.To), ago(-b.Rest)))
		}
	}
	return out
}

// visitPage is one visit: in sentences, and set by set over all places.
type visitPage struct {
	visited
	Attentions []desk.Need
	Torn       []desk.PlacedBreak // where a log is not whole
	Names      names
	Person     store.Patient
	Note       record.Note
	Pace       string // kept, of those that taps tell of
	Can        map[string]bool
}

func showVisit(v *visit) error {
	got, err := v.desk().Visit(v.ctx(), v.who, v.r.PathValue("id"))
	if err != nil {
		return err
	}
	of := v.visited(got.Visit, got.Places)
	if !of.Joined() {
		return v.to(of.Path())
	}
	in, err := v.gather().VisitNote(v.ctx(), of.ID())
	if err != nil {
		return err
	}
	note := record.NoteOf(in)
	note.Paragraphs = slices.DeleteFunc(note.Paragraphs, func(p record.Paragraph) bool { return p.Heading == record.ThePlaces }) // the page has a table
	p := visitPage{visited: of, Attentions: got.Attentions, Torn: got.Torn, Names: v.names(), Person: in.Patient, Note: note,
		Can: v.can(desk.ExportData, desk.SeePatients)}
	if part, ok := of.Pace(in.Protocol); ok {
		p.Pace = percentWords(part)
	}
	return v.page("visit", "Visit of "+cmp.Or(p.Person.Name, p.Tag), p)
}

func percentWords(share float64) string { return fmt.Sprintf("%d %%", int(100*share+0.5)) }

// Parts are the stays of the visit with what their places show.
func (p visitPage) Parts() []visitPart {
	var out []visitPart
	rests := map[string]review.Break{}
	for _, b := range p.Breaks() {
		rests[b.To.ID] = b
	}
	for _, s := range p.Stays {
		one := visitPart{Stay: s, Place: p.place(s), Kind: outcomeKind(s.Outcome), Ended: endWords(s.Outcome)}
		if s.Session.Doubtful {
			one.Ended += ", doubtful"
			if one.Kind != "bad" {
				one.Kind = "warn"
			}
		}
		if b, ok := rests[s.ID]; ok && b.Rest >= 0 {
			one.Rest, one.Within = b.Rest, b.Within
		}
		out = append(out, one)
	}
	return out
}

// visitPart is one place of a visit on its page.
type visitPart struct {
	review.Stay
	Place, Kind, Ended string
	Rest               time.Duration // since the last set at the place before; 0 where nobody can tell
	Within             time.Duration
}

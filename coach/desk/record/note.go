package record

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
	"evenbell/coach/review"
)

// NoteInput is what the note of a session, or of a visit, is made of.
type NoteInput struct {
	Clinic     Clinic
	Patient    store.Patient      // an empty Name leaves it out
	Sessions   []Session          // one, or the parts of a visit in their order
	Visit      *review.Visit      // what the sessions are the parts of; nil for the note of one session
	Planned    []plan.Item        // as approved; nil for what the log says was begun
	Protocol   *protocol.Protocol // by which pace and rest are judged; nil for the default
	Screening  *store.Screening   // of the day; nil for none
	Attentions []store.Attention  // of these sessions
	Holds      []store.Hold       // that came of it
}

// Note is a session in plain sentences.
type Note struct {
	Title      string      `json:"title"`
	Patient    string      `json:"patient"` // name and tag, or the tag
	Paragraphs []Paragraph `json:"paragraphs"`
}

// Paragraph is a heading with its sentences; a list is to be set one a line.
type Paragraph struct {
	Heading   string   `json:"heading"`
	Sentences []string `json:"sentences"`
	List      bool     `json:"list"`
}

// NoteOf says what was planned, what was done, with what effort, pace and rest,
// what happened, and who looked. It judges nothing.
func NoteOf(in NoteInput) Note {
	if in.Protocol == nil {
		in.Protocol = protocol.Default()
	}
	n := Note{Title: "Session of " + in.Clinic.said(in.Sessions[0].Start), Patient: patientWords(in.Patient, in.Sessions[0].Tag)}
	if in.Visit != nil {
		n.Title = "Visit of " + in.Clinic.said(in.Visit.Start())
		n.add("The visit", false, in.visitCourse()...)
		n.add(ThePlaces, true, in.places()...)
	} else {
		n.add("The session", false, in.course(in.Sessions[0])...)
	}
	n.add("Before it", false, in.before()...)
	n.add("What was planned", true, in.planned()...)
	n.add("What was done", true, in.done()...)
	n.add("Effort, pace and rest", false, in.manner()...)
	n.add("Events", false, in.events()...)
	n.add("Who looked", true, in.looked()...)
	n.add("The log", false, in.logWords()...)
	return n
}

// ThePlaces heads the places of a visit, for a page that has a table of them.
const ThePlaces = "The places"

// Text is the note as plain text, for where no page is.
func (n Note) Text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n%s\n", n.Title, n.Patient)
	for _, p := range n.Paragraphs {
		by := " "
		if p.List {
			by = "\n"
		}
		fmt.Fprintf(&b, "\n%s\n%s\n", p.Heading, strings.Join(p.Sentences, by))
	}
	return b.String()
}

func (n *Note) add(heading string, list bool, sentences ...string) {
	if len(sentences) > 0 {
		n.Paragraphs = append(n.Paragraphs, Paragraph{heading, sentences, list})
	}
}

// patientWords is a person's name and tag, or the tag alone.
func patientWords(p store.Patient, tag string) string {
	if p.Tag != "" {
		tag = p.Tag
	}
	if p.Name == "" {
		return "Tag " + tag
	}
	return p.Name + " (" + tag + ")"
}

// when is a time from beginning to end as a sentence.
func (c Clinic) when(start, end time.Time) string {
	if start.IsZero() {
		return "The station had no trusted time for it."
	}
	when := fmt.Sprintf("It began on %s", c.said(start))
	if !end.IsZero() {
		when += fmt.Sprintf(" and ended at %s, after %s", c.in(end).Format("15:04"), minutes(end.Sub(start)))
	}
	return when + "."
}

// course is when and where, and how it ended.
func (in NoteInput) course(s Session) []string {
	when := in.Clinic.when(s.Start, s.End)
	if s.Within > 0 {
		when += fmt.Sprintf(" Its times may be off by %s.", minutes(s.Within))
	}
	out := []string{when}
	if s.Station != "" {
		out = append(out, "It was done at "+s.Station+".")
	}
	if s.Part != "" && s.Part != coach.Whole {
		out = append(out, "It was "+partWords(s.Part)+" of the day's session.")
	}
	if s.Outcome == "" {
		return append(out, "Its end is not in the log.")
	}
	out = append(out, "It was "+s.ended()+".")
	return append(out, s.closing()...)
}

// ended is how a session ended, in words.
func (s Session) ended() string {
	how := outcomeWords(s.Outcome)
	if s.Outcome == coach.Stopped && s.Red {
		how += " with the red button"
	}
	return how
}

// closing is what was said at the end, where all was well.
func (s Session) closing() []string {
	for _, q := range s.Questions {
		if q.ID == coach.QuestionClosing && q.Answer == coach.AnswerWell {
			return []string{questionWords(s.Part, q) + "."}
		}
	}
	return nil
}

func (in NoteInput) before() []string {
	var out []string
	if in.Screening != nil {
		out = append(out, fmt.Sprintf("Screening by %s at %s: %s.", in.Screening.By, in.Clinic.in(in.Screening.At).Format("15:04"), in.Screening.Result.Verdict))
	}
	for _, s := range in.Sessions {
		var said []string
		for _, q := range s.Questions {
			switch q.ID {
			case coach.QuestionWell, coach.QuestionSymptoms, coach.QuestionTablets, coach.QuestionWarmedUp, coach.QuestionTelephone:
				said = append(said, questionWords(s.Part, q)+".")
			}
		}
		if len(said) > 0 {
			out = append(out, in.at(s, strings.Join(said, " ")))
		}
	}
	return out
}

// questionWords is an answered question as a statement. Who comes from another
// place is asked about the way there.
func questionWords(asked coach.Part, q coach.QuestionData) string {
	since := map[coach.Part]string{"": "time", coach.Middle: "place", coach.Last: "place"}[asked]
	if since == "" {
		since = "session"
	}
	well := map[string]string{coach.QuestionWell: "Felt well", coach.QuestionSymptoms: "No new symptoms since the last " + since,
		coach.QuestionTablets: "Tablets taken", coach.QuestionWarmedUp: "Warmed up elsewhere",
		coach.QuestionTelephone: "The telephone was within reach", coach.QuestionRested: "Said that the days between were kept",
		coach.QuestionAllRight: "All was well after a set ended early", coach.QuestionClosing: "Felt well throughout and at the end"}
	unwell := map[string]string{coach.QuestionWell: "Did not feel well", coach.QuestionSymptoms: "Had new symptoms since the last " + since,
		coach.QuestionTablets: "Tablets not taken", coach.QuestionWarmedUp: "Not warmed up",
		coach.QuestionTelephone: "The telephone was fetched first", coach.QuestionRested: "Said that the days between were not kept",
		coach.QuestionAllRight: "Not well after a set ended early", coach.QuestionClosing: "Felt something during or at the end"}
	switch {
	case q.Answer == "":
		return "Not answered"
	case q.ID == coach.QuestionSymptom:
		return "Named after the stop: " + symptomWords(coach.Symptom(q.Answer))
	case q.Answer == coach.AnswerWell && well[q.ID] != "":
		return well[q.ID]
	case q.Answer == coach.AnswerNotWell && unwell[q.ID] != "":
		return unwell[q.ID]
	}
	return "Asked " + q.ID + ": " + q.Answer
}

func (in NoteInput) planned() []string {
	var out []string
	line := func(id string, d coach.Dose, sides coach.Sides) {
		out = append(out, in.Clinic.named(id, d.Stage)+": "+doseWords(d, sides)+".")
	}
	if in.Planned != nil {
		for _, it := range in.Planned {
			line(it.Exercise, it.Dose, it.Sides)
		}
		return out
	}
	for _, s := range in.Sessions {
		for _, it := range s.Items {
			if it.Dose.Reps > 0 {
				line(it.Exercise, it.Dose, it.Sides)
			}
		}
	}
	return out
}

// ofPart reports whether the note is of one part of a visit by itself.
func (in NoteInput) ofPart() bool {
	p := in.Sessions[0].Part
	return in.Visit == nil && p != "" && p != coach.Whole
}

// PlannedAt is what a station's plan has for a tag: at one place of a class
// that is a part of what was approved. Nil where the plan can't be read.
func PlannedAt(text string, limits *protocol.Protocol, tag string) []plan.Item {
	pl, _ := plan.Read("plan", []byte(text), limits)
	if pl == nil {
		return nil
	}
	return itemsOf(pl, tag)
}

func itemsOf(pl *plan.Plan, tag string) []plan.Item {
	for _, who := range pl.Patients {
		if who.Tag == tag {
			return who.Items
		}
	}
	return nil
}

// named is an exercise with its stage.
func (c Clinic) named(exercise, stage string) string {
	if s := c.stage(exercise, stage); s != "" {
		return c.exercise(exercise) + " (" + lower(s) + ")"
	}
	return c.exercise(exercise)
}

func (in NoteInput) done() []string {
	var out []string
	for _, s := range in.Sessions {
		for _, it := range s.Items {
			out = append(out, in.at(s, in.Clinic.exercise(it.Exercise)+": "+doneWords(it))+".")
		}
	}
	for _, it := range in.Planned {
		if !in.begun(it.Exercise) {
			out = append(out, in.Clinic.exercise(it.Exercise)+": not begun.")
		}
	}
	return out
}

func (in NoteInput) begun(exercise string) bool {
	return slices.ContainsFunc(in.items(), func(it *review.Item) bool { return it.Exercise == exercise })
}

// items are the exercises of all sessions.
func (in NoteInput) items() []*review.Item {
	var out []*review.Item
	for _, s := range in.Sessions {
		out = append(out, s.Items...)
	}
	return out
}

// doneWords is what became of one exercise.
func doneWords(it *review.Item) string {
	if it.Skipped && !it.Worked() {
		return "left out"
	}
	confirmed := 0
	for _, s := range it.Sets {
		confirmed += s.Confirmed
	}
	out := []string{fmt.Sprintf("%d repetitions led, %d confirmed by a tap", it.Led(), confirmed)}
	switch it.Result {
	case dose.Complete:
		out = append(out, "led to the end")
	case dose.Short:
		out = append(out, "a set ended early by the patient")
	default:
		out = append(out, "not led to its end")
	}
	switch {
	case it.Reserve != "":
		out = append(out, left(it.Reserve))
	case it.Unanswered:
		out = append(out, "effort not answered")
	}
	return strings.Join(out, ", ")
}

func (in NoteInput) logWords() []string {
	out := []string{}
	what, doubtful := "session", false
	if in.Visit != nil {
		what, doubtful = "visit", in.Visit.Doubtful()
	}
	for _, s := range in.Sessions {
		doubtful = doubtful || s.Doubtful
		for _, m := range s.Marks {
			out = append(out, in.at(s, upper(string(m)))+".")
		}
	}
	switch {
	case doubtful:
		out = append([]string{"The log of this " + what + " cannot be trusted."}, out...)
	case len(out) == 0:
		out = append(out, "The log of this "+what+" is whole.")
	}
	return out
}

package record

import (
	"fmt"
	"strings"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
	"evenbell/coach/review"
)

// NoteInput is what a session's note is made of.
type NoteInput struct {
	Clinic     Clinic
	Patient    store.Patient // an empty Name leaves it out
	Session    Session
	Planned    []plan.Item        // as approved; nil for what the log says was begun
	Protocol   *protocol.Protocol // by which pace and rest are judged; nil for the default
	Screening  *store.Screening   // of the day; nil for none
	Attentions []store.Attention  // of this session
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

// SessionNote says what was planned, what was done, with what effort, pace and
// rest, what happened, and who looked. It judges nothing.
func SessionNote(in NoteInput) Note {
	if in.Protocol == nil {
		in.Protocol = protocol.Default()
	}
	s := in.Session
	n := Note{Title: "Session of " + in.Clinic.said(s.Start), Patient: patientWords(in.Patient, s.Tag)}
	n.add("The session", false, in.course()...)
	n.add("Before it", false, in.before()...)
	n.add("What was planned", true, in.planned()...)
	n.add("What was done", true, in.done()...)
	n.add("Effort, pace and rest", false, in.manner()...)
	n.add("Events", false, in.events()...)
	n.add("Who looked", true, in.looked()...)
	n.add("The log", false, in.logWords()...)
	return n
}

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

// course is when and where, and how it ended.
func (in NoteInput) course() []string {
	s, c := in.Session, in.Clinic
	when := "The station had no trusted time for it."
	if !s.Start.IsZero() {
		when = fmt.Sprintf("It began on %s", c.said(s.Start))
		if !s.End.IsZero() {
			when += fmt.Sprintf(" and ended at %s, after %s", c.in(s.End).Format("15:04"), minutes(s.End.Sub(s.Start)))
		}
		when += "."
	}
	if s.Within > 0 {
		when += fmt.Sprintf(" Its times may be off by %s.", minutes(s.Within))
	}
	out := []string{when}
	if s.Station != "" {
		out = append(out, "It was done at "+s.Station+".")
	}
	if s.Part != "" && s.Part != coach.Whole {
		out = append(out, "It was the "+string(s.Part)+" part of the day's session.")
	}
	if s.Outcome == "" {
		return append(out, "Its end is not in the log.")
	}
	how := "It was " + outcomeWords(s.Outcome)
	if s.Outcome == coach.Stopped && s.Red {
		how += " with the red button"
	}
	out = append(out, how+".")
	for _, q := range s.Questions {
		if q.ID == coach.QuestionClosing && q.Answer == coach.AnswerWell {
			out = append(out, questionWords(q)+".")
		}
	}
	return out
}

func (in NoteInput) before() []string {
	var out []string
	if in.Screening != nil {
		out = append(out, fmt.Sprintf("Screening by %s at %s: %s.", in.Screening.By, in.Clinic.in(in.Screening.At).Format("15:04"), in.Screening.Result.Verdict))
	}
	for _, q := range in.Session.Questions {
		if q.ID == coach.QuestionWell || q.ID == coach.QuestionSymptoms || q.ID == coach.QuestionTablets || q.ID == coach.QuestionWarmedUp {
			out = append(out, questionWords(q)+".")
		}
	}
	return out
}

// questionWords is an answered question as a statement.
func questionWords(q coach.QuestionData) string {
	well := map[string]string{coach.QuestionWell: "Felt well", coach.QuestionSymptoms: "No new symptoms since the last session",
		coach.QuestionTablets: "Tablets taken", coach.QuestionWarmedUp: "Warmed up elsewhere",
		coach.QuestionAllRight: "All was well after a set ended early", coach.QuestionClosing: "Felt well throughout and at the end"}
	unwell := map[string]string{coach.QuestionWell: "Did not feel well", coach.QuestionSymptoms: "Had new symptoms since the last session",
		coach.QuestionTablets: "Tablets not taken", coach.QuestionWarmedUp: "Not warmed up",
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
	for _, it := range in.Session.Items {
		if it.Dose.Reps > 0 {
			line(it.Exercise, it.Dose, it.Sides)
		}
	}
	return out
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
	for _, it := range in.Session.Items {
		out = append(out, in.Clinic.exercise(it.Exercise)+": "+doneWords(it)+".")
	}
	for _, it := range in.Planned {
		if !in.begun(it.Exercise) {
			out = append(out, in.Clinic.exercise(it.Exercise)+": not begun.")
		}
	}
	return out
}

func (in NoteInput) begun(exercise string) bool {
	for _, it := range in.Session.Items {
		if it.Exercise == exercise {
			return true
		}
	}
	return false
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
	s := in.Session
	if !s.Doubtful && len(s.Marks) == 0 {
		return []string{"The log of this session is whole."}
	}
	out := []string{}
	if s.Doubtful {
		out = append(out, "The log of this session cannot be trusted.")
	}
	for _, m := range s.Marks {
		out = append(out, upper(string(m))+".")
	}
	return out
}

package web

import (
	"errors"
	"fmt"
	"strconv"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
	"evenbell/coach/review"
)

// reviewPage is one patient's review: what is worth a look, what to decide.
type reviewPage struct {
	Tag     string
	Person  *desk.Person
	Names   names
	Got     *desk.Reviewed
	Visits  []visited        // newest first
	New     []review.Finding // since the newest plan was approved
	Earlier []review.Finding
	Since   coach.Day     // when it was; empty for never
	Holds   []pendingPart // nobody has answered
	Steps   []pendingPart
	Decided []pendingPart // not yet in a plan
	Used    []pendingPart // in a plan that may have been sent
	Form    *form
	Can     map[string]bool
}

// pendingPart is one proposal on the page.
type pendingPart struct {
	desk.Pending
	N      int // its number on the page: names of its fields begin with it
	Form   *form
	Stages []choice
	Open   string // which of the other answers is opened: changed or declined
}

func showReview(v *visit) error {
	p, err := v.reviewPage(nil, "")
	if err != nil {
		return err
	}
	return v.page("review", "Review: "+personTitle(p.Person), p)
}

// reviewPage gathers the page; f is a decision that was sent and refused, for
// an exercise.
func (v *visit) reviewPage(f *form, exercise string) (*reviewPage, error) {
	who, err := v.desk().View(v.ctx(), v.who, v.r.PathValue("tag"))
	if err != nil {
		return nil, err
	}
	got, err := v.desk().Review(v.ctx(), v.who, who.Tag, "", "")
	if err != nil {
		return nil, err
	}
	p := &reviewPage{Tag: who.Tag, Person: who, Names: v.names(), Got: got, Visits: v.visits(got), Form: f,
		Can: v.can(desk.DecideProposal, desk.WritePlan, desk.NoteObservation)}
	p.Visits = p.Visits[:min(len(p.Visits), mostVisits)]
	p.split(v.now.Location())
	for n, one := range got.Proposals {
		part := pendingPart{Pending: one, N: n, Form: p.suggested(n, one.Proposal)}
		if f != nil && one.Proposal.Exercise == exercise {
			part.Form, part.Open = f, f.Get("answer")
		}
		for _, st := range p.Names.find(one.Proposal.Exercise).Stages {
			part.Stages = append(part.Stages, choice{Value: st.ID, Label: st.Name})
		}
		switch {
		case one.Decision != nil && one.Decision.Used != 0:
			p.Used = append(p.Used, part)
		case one.Decision != nil:
			p.Decided = append(p.Decided, part)
		case one.Proposal.Action == dose.Hold:
			p.Holds = append(p.Holds, part)
		default:
			p.Steps = append(p.Steps, part)
		}
	}
	return p, nil
}

// split parts the findings: what came since the newest plan is what has not
// been followed up yet.
func (p *reviewPage) split(zone *time.Location) {
	for _, rx := range p.Person.Prescriptions {
		if rx.Approved != "" {
			p.Since = max(p.Since, coach.DayOf(rx.ApprovedAt.In(zone)))
		}
	}
	for _, x := range p.Got.Findings {
		if x.Day == "" || x.Day >= p.Since {
			p.New = append(p.New, x)
		} else {
			p.Earlier = append(p.Earlier, x)
		}
	}
}

// suggested is the form of another answer, beginning from what is proposed.
func (p *reviewPage) suggested(n int, pr dose.Proposal) *form {
	at := func(key string) string { return fmt.Sprintf("p%d.%s", n, key) }
	return newForm(at("load"), pr.To.Load.String(), at("reps"), strconv.Itoa(pr.To.Reps), at("sets"), strconv.Itoa(pr.To.Sets), at("stage"), pr.To.Stage)
}

// Undecided is how many proposals wait for an answer.
func (p *reviewPage) Undecided() int { return len(p.Holds) + len(p.Steps) }

func acceptHolds(v *visit) error {
	tag := v.r.PathValue("tag")
	done, err := v.desk().AcceptHolds(v.ctx(), v.who, tag)
	if err != nil {
		return err
	}
	return v.back("/review/"+tag+"#decided", "%s as they are, by %s. Each can be undone below until a plan with it is approved.", plural(len(done), "exercise stays", "exercises stay"), v.who.Name)
}

// decide answers one proposal.
func decide(v *visit) error {
	tag := v.r.PathValue("tag")
	f, err := v.sent()
	if err != nil {
		return err
	}
	n := f.Get("n")
	answer := store.Answer(f.Get("answer"))
	at := func(key string) string { return "p" + n + "." + key }
	var to coach.Dose
	if answer == store.Changed {
		to = coach.Dose{Load: f.loadIn(at("load")), Stage: f.Get(at("stage")),
			Reps: or(f.whole(at("reps"), "Repetitions", 1, 100)), Sets: or(f.whole(at("sets"), "Sets", 1, 20))}
	}
	if answer != store.Accepted && f.Get(at(string(answer)+"-why")) == "" {
		f.fault(at(string(answer)+"-why"), "Say why, in a few words.")
	}
	if f.ok() {
		got, err := v.desk().Decide(v.ctx(), v.who, tag, f.Get("exercise"), f.Get("seen"), answer, to, f.Get(at(string(answer)+"-why")))
		if err == nil {
			return v.backUndo("/review/"+tag+"#proposals", "/review/"+tag+"/undo", map[string]string{"decision": strconv.FormatInt(got.ID, 10)},
				"%s: %s by %s.", v.names().Exercise(got.Exercise), got.Answer, v.who.Name)
		}
		if err := f.refusedAt(err, at); err != nil {
			return err
		}
	}
	p, err := v.reviewPage(f, f.Get("exercise"))
	if err != nil {
		return err
	}
	return v.again("review", "Review: "+personTitle(p.Person), p)
}

// refusedAt puts what the desk refused of one of several like forms at its
// field.
func (f *form) refusedAt(err error, at func(string) string) error {
	var r desk.Refusal
	var faulty desk.Faulty
	switch {
	case errors.As(err, &r):
		field := r.Field
		if field != "" {
			field = at(field)
		}
		f.fault(field, "%s", capital(r.Message))
		return nil
	case errors.As(err, &faulty):
		for _, x := range coach.Errors(faulty.Faults) {
			f.fault("", "%s", faultWords(x))
		}
		return nil
	}
	return f.refused(err)
}

func undoDecision(v *visit) error {
	tag := v.r.PathValue("tag")
	f, err := v.sent()
	if err != nil {
		return err
	}
	id, err := strconv.ParseInt(f.Get("decision"), 10, 64)
	if err != nil {
		return missing("decision")
	}
	if err := v.desk().Undo(v.ctx(), v.who, id); err != nil {
		return err
	}
	return v.back("/review/"+tag+"#proposals", "Undone: the proposal waits again.")
}

// noteObserved notes that staff watched a session of an exercise.
func noteObserved(v *visit) error {
	tag := v.r.PathValue("tag")
	f, err := v.sent()
	if err != nil {
		return err
	}
	if err := v.desk().Observed(v.ctx(), v.who, tag, f.Get("exercise"), f.Get("session")); err != nil {
		return err
	}
	return v.back("/review/"+tag+"#proposals", "Noted: %s watched %s in that session.", v.who.Name, v.names().Exercise(f.Get("exercise")))
}

// draftNext drafts the next plan from what was decided.
func draftNext(v *visit) error {
	tag := v.r.PathValue("tag")
	rx, checked, err := v.desk().NextPlan(v.ctx(), v.who, tag)
	if err != nil {
		return err
	}
	if n := len(coach.Errors(checked.Faults)); n > 0 {
		return v.backBad(fmt.Sprintf("/patients/%s/plan/write?from=version-%d", tag, rx.ID), "Version %d is drafted from what was decided; %s to put right.", rx.Version, plural(n, "thing is", "things are"))
	}
	return v.back(fmt.Sprintf("/plans/%d", rx.ID), "Version %d is drafted from what was decided.", rx.Version)
}

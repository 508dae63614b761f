package desk

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
	"evenbell/coach/review"
)

// Pending is a proposal with the answer it got, if any.
type Pending struct {
	Proposal dose.Proposal
	Decision *store.Decision // nil while nobody decided
	Told     string          // the newest session of the exercise that it knew of
}

// Reviewed is what one patient did, ready to look at.
type Reviewed struct {
	Tag       string
	From, To  coach.Day
	Log       *review.Log    // of the days
	Visits    []review.Visit // of the days, the log's sessions joined
	Places    Places
	Findings  []review.Finding
	Weeks     []review.Week
	Proposals []Pending // one for each exercise of the newest prescription that was done, in its order
	Trends    map[string][]review.Point
	Since     []string // how the newest approved prescription differs from the one before, in plain words
}

// reviewedWeeks is how far back a review looks where nobody says.
const reviewedWeeks = 12

// Review is what a patient did from day to day (SeeReview, audited). Empty days
// are the last twelve weeks.
func (d *Desk) Review(ctx context.Context, who Actor, tag string, from, to coach.Day) (*Reviewed, error) {
	if err := who.check(SeeReview); err != nil {
		return nil, err
	}
	c, err := d.caseOf(ctx, tag)
	if err != nil {
		return nil, err
	}
	if err := d.looked(ctx, who, SeeReview, c.who.Tag, ""); err != nil {
		return nil, err
	}
	to = cmp.Or(to, c.today)
	from = cmp.Or(from, to.AddDays(1-7*reviewedWeeks))
	r := &Reviewed{Tag: c.who.Tag, From: from, To: to, Trends: map[string][]review.Point{}}
	r.Findings = c.log.Findings(c.limits, from, to)
	if h := HomeOf(c.who.Record, c.limits); h != nil {
		r.Findings = append(r.Findings, c.log.TooSoon(h.DaysBetween, from, to)...)
		review.Sort(r.Findings)
	}
	r.Weeks = c.log.Weeks(from, to, c.who.Record.Wanted)
	of := *c.log
	of.Sessions = nil
	for _, v := range c.log.Visits() {
		if day := v.Day(); day == "" || from <= day && day <= to {
			r.Visits = append(r.Visits, v)
		}
	}
	for _, s := range c.log.Sessions {
		if slices.ContainsFunc(r.Visits, func(v review.Visit) bool { return v.Has(s.ID) }) {
			of.Sessions = append(of.Sessions, s)
		}
	}
	r.Log, r.Places = &of, c.places
	for _, id := range c.exercises() {
		if points := c.log.Trend(c.limits, id); len(points) > 0 {
			r.Trends[id] = points
		}
	}
	r.Proposals = c.pending()
	r.Since, err = d.since(ctx, c)
	return r, err
}

// patientCase is everything a proposal for one patient looks at.
type patientCase struct {
	who       store.Patient
	today     coach.Day
	limits    *protocol.Protocol
	owned     dose.Owned
	log       *review.Log
	places    Places
	last      *plan.Plan // newest approved prescription, else the newest draft; nil for none
	given     []coach.Precaution
	cleared   []dose.Clearance
	decisions []store.Decision // newest first, those taken back left out
}

func (d *Desk) caseOf(ctx context.Context, tag string) (*patientCase, error) {
	c := &patientCase{}
	var err error
	if c.who, err = d.patientTagged(ctx, tag); err != nil {
		return nil, err
	}
	clinic, err1 := d.Clinic(ctx)
	owned, err2 := clinic.OwnedBy(c.who.Record)
	var err3, err4, err5, err6 error
	c.owned = owned
	c.today, err3 = d.Today(ctx)
	c.limits, err4 = d.Protocol(ctx)
	c.log, c.places, err5 = d.placedLog(ctx, c.who.Tag)
	c.decisions, err6 = d.store.DecisionsOf(ctx, c.who.ID)
	if err := errors.Join(err1, err2, err3, err4, err5, err6); err != nil {
		return nil, err
	}
	c.decisions = slices.DeleteFunc(c.decisions, func(v store.Decision) bool { return v.Undone })
	c.given = precautions(c.limits, c.who.Record, c.today)
	if c.last, err = d.lastPlan(ctx, c.who); err != nil && !errors.Is(err, ErrNotFound) {
		return nil, err
	}
	c.cleared, err = d.clearances(ctx, c.who)
	return c, err
}

// exercises are those of the newest prescription, then what else was done.
func (c *patientCase) exercises() []string {
	var out []string
	add := func(id string) {
		if !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	if c.last != nil {
		for _, it := range c.last.Patients[0].Items {
			add(it.Exercise)
		}
	}
	for _, s := range c.log.Sessions {
		for _, it := range s.Items {
			add(it.Exercise)
		}
	}
	return out
}

// pending are the standing proposals, with their answers.
func (c *patientCase) pending() []Pending {
	if c.last == nil {
		return nil
	}
	var proposals []dose.Proposal
	var told []string
	for _, it := range c.last.Patients[0].Items {
		if p, newest, ok := c.propose(it); ok {
			proposals, told = append(proposals, p), append(told, newest)
		}
	}
	var out []Pending
	for i, p := range dose.Visit(c.limits, proposals) {
		v := Pending{Proposal: p, Told: told[i]}
		for k := range c.decisions {
			if x := &c.decisions[k]; x.Exercise == p.Exercise && x.Session == v.Told {
				v.Decision = x
				break
			}
		}
		out = append(out, v)
	}
	return out
}

// propose says what comes next in one exercise, and the newest session it knew
// of; false where nothing was done of it yet.
func (c *patientCase) propose(it plan.Item) (p dose.Proposal, newest string, ok bool) {
	e, ok := c.exercise(it.Exercise)
	if !ok {
		return p, "", false
	}
	h := c.log.History(e)
	if h.Sides == "" {
		h.Sides = it.Sides
	}
	planned := it.Dose
	h.Planned, h.Clearances, h.Precautions, h.Ceiling = &planned, c.cleared, c.given, c.who.Record.Ceiling
	for _, day := range c.who.Record.Admissions {
		h.Events = append(h.Events, dose.Event{Kind: dose.AdmissionEvent, At: day.Time()})
	}
	for i := range h.Sessions {
		s := &h.Sessions[i]
		s.Observed = c.watched(it.Exercise, s.IDs)
		if len(s.IDs) > 0 {
			newest = s.IDs[len(s.IDs)-1]
		}
	}
	p, err := dose.Propose(c.limits, c.owned, h, c.today)
	return p, newest, err == nil // the only error is that nothing was done
}

// exercise is an exercise of the catalogue or of the clinic's own.
func (c *patientCase) exercise(id string) (coach.Exercise, bool) {
	if e, ok := catalogue.Find(id); ok {
		return e, true
	}
	if c.last != nil {
		for _, own := range c.last.Own {
			if own.ID == id {
				return own.Exercise, true
			}
		}
	}
	return coach.Exercise{}, false
}

func (c *patientCase) watched(exercise string, sessions []string) bool {
	return slices.ContainsFunc(c.who.Record.Observed, func(o store.Observation) bool {
		return o.Exercise == exercise && slices.Contains(sessions, o.Session)
	})
}

// clearances are supervisors' words that what happened before needs no more
// waiting: cleared holds, unanswered questions that a supervisor closed, and
// what the record says. While a hold is open, nothing after its beginning
// clears anything.
func (d *Desk) clearances(ctx context.Context, who store.Patient) ([]dose.Clearance, error) {
	out := slices.Clone(who.Record.Cleared)
	holds, err := d.store.HoldsOf(ctx, who.Tag)
	if err != nil {
		return nil, err
	}
	var open time.Time
	for _, h := range holds {
		switch {
		case h.Cleared != nil:
			out = append(out, dose.Clearance{By: h.ClearedBy, At: *h.Cleared})
		case open.IsZero() || h.Since.Before(open):
			open = h.Since
		}
	}
	all, err := d.store.Attentions(ctx, store.AttentionFilter{Tag: who.Tag})
	if err != nil {
		return nil, err
	}
	for _, a := range all {
		if a.Reason != store.NoAnswer || a.Closed == nil {
			continue
		}
		m, err := d.store.StaffByName(ctx, a.ClosedBy)
		if err == nil && m.Role == store.Supervisor {
			out = append(out, dose.Clearance{By: a.ClosedBy, At: *a.Closed})
		}
	}
	return slices.DeleteFunc(out, func(c dose.Clearance) bool { return !open.IsZero() && !c.At.Before(open) }), nil
}

// ClearEvents is a supervisor's word that what happened to a patient until now
// (an admission, an unanswered question) needs no more waiting (ClearHold).
// Open holds are cleared one by one, with Clear.
func (d *Desk) ClearEvents(ctx context.Context, who Actor, tag, note string) error {
	if err := who.check(ClearHold); err != nil {
		return err
	}
	if note == "" {
		return refuse("note", "is empty; say why nothing needs to wait any more")
	}
	return d.change(ctx, func(ctx context.Context) error {
		p, err := d.patientTagged(ctx, tag)
		if err != nil {
			return err
		}
		p.Record.Cleared = append(p.Record.Cleared, dose.Clearance{By: who.Name, At: d.Time()})
		if _, err := d.store.UpdatePatient(ctx, p); err != nil {
			return err
		}
		return d.audit(ctx, who, ClearHold, p.Tag, "what happened until now: "+note)
	})
}

// Observed notes that staff watched a session of an exercise and its effort
// (NoteObservation).
func (d *Desk) Observed(ctx context.Context, who Actor, tag, exercise, session string) error {
	if err := who.check(NoteObservation); err != nil {
		return err
	}
	return d.change(ctx, func(ctx context.Context) error {
		p, err := d.patientTagged(ctx, tag)
		if err != nil {
			return err
		}
		s, err := d.store.Session(ctx, session)
		if err != nil || s.Tag != p.Tag {
			return cmp.Or(notFound(err, "session %q", session), refuse("session", "%q is not a session of %s", session, p.Tag))
		}
		o := store.Observation{Exercise: exercise, Session: session, By: who.Name, At: d.Time()}
		same := func(x store.Observation) bool { return x.Exercise == exercise && x.Session == session }
		if slices.ContainsFunc(p.Record.Observed, same) {
			return nil
		}
		p.Record.Observed = append(p.Record.Observed, o)
		if _, err := d.store.UpdatePatient(ctx, p); err != nil {
			return err
		}
		return d.audit(ctx, who, NoteObservation, p.Tag, exercise+" in "+session)
	})
}

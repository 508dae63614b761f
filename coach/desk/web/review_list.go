package web

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/review"
)

// reviewsPage is whose sessions nobody has followed up yet.
type reviewsPage struct {
	Waiting  []reviewLine // the most pressing first
	Since    time.Time
	Others   int // who exercised, and whose newest plan is newer than that
	Unsigned int // exercises of the clinic's own that wait for the person asking
}

// reviewLine is one of them.
type reviewLine struct {
	Tag, Name string
	Newest    review.Visit
	Visits    int // since the newest approved plan
	Stopped   int // of them, stopped, not started or abandoned
	Early     int // ended early
	Open      int // under way, or without an end in the log
	Held      bool
}

// lookBack is how far back the list goes; a patient's own page goes on.
const lookBack = 28 * 24 * time.Hour

// showReviews lists who has exercised since their plan was approved. What is
// worth a look in the sessions is worked out on each patient's own page.
func showReviews(v *visit) error {
	p := reviewsPage{Since: v.now.Add(-lookBack)}
	st := v.desk().Store()
	all, err := st.Sessions(v.ctx(), store.SessionFilter{Since: p.Since})
	if err != nil {
		return fmt.Errorf("listing sessions to review: %w", err)
	}
	people, err := v.desk().Patients(v.ctx(), v.who, true, "")
	if err != nil {
		return err
	}
	held := map[string]bool{}
	holds, err := st.OpenHolds(v.ctx())
	if err != nil {
		return fmt.Errorf("listing who is held: %w", err)
	}
	for _, h := range holds {
		held[h.Tag] = true
	}
	byTag := map[string][]review.Visit{}
	for _, one := range desk.Join(all) {
		byTag[one.Tag] = append(byTag[one.Tag], one)
	}
	for _, who := range people {
		visits := byTag[who.Tag]
		if len(visits) == 0 {
			continue
		}
		approved, err := approvedAt(v, who.ID)
		if err != nil {
			return err
		}
		line := lineOf(who, visits, approved)
		line.Held = held[who.Tag]
		if line.Visits == 0 {
			p.Others++
			continue
		}
		p.Waiting = append(p.Waiting, line)
	}
	slices.SortStableFunc(p.Waiting, func(a, b reviewLine) int {
		return cmp.Or(cmp.Compare(a.rank(), b.rank()), b.Newest.Start().Compare(a.Newest.Start()))
	})
	if v.who.May(desk.SignExercise) {
		if p.Unsigned, err = v.waitingExercises(); err != nil {
			return err
		}
	}
	return v.page("reviews", "Review", p)
}

// approvedAt is when the plan that a patient has now was approved; zero for
// none.
func approvedAt(v *visit, patient int64) (time.Time, error) {
	rx, err := v.desk().Store().InForce(v.ctx(), patient)
	if errors.Is(err, store.ErrNotFound) {
		return time.Time{}, nil
	}
	if err != nil {
		return time.Time{}, fmt.Errorf("finding the newest plan: %w", err)
	}
	return rx.ApprovedAt, nil
}

// rank puts those first who had to stop, then those who are held.
func (l reviewLine) rank() int {
	switch {
	case l.Stopped > 0:
		return 0
	case l.Held:
		return 1
	}
	return 2
}

func lineOf(who store.Patient, visits []review.Visit, approved time.Time) reviewLine {
	line := reviewLine{Tag: who.Tag, Name: who.Name}
	for _, v := range visits {
		if begun := v.Start(); !begun.IsZero() && begun.Before(approved) {
			continue
		}
		line.Visits++
		line.Newest = v
		switch v.Outcome() {
		case coach.Stopped, coach.NotStarted, coach.Abandoned:
			line.Stopped++
		case coach.FinishedEarly:
			line.Early++
		case "":
			line.Open++
		}
	}
	return line
}

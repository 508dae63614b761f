package store

import (
	"context"
	"slices"
	"time"

	"evenbell/coach"
)

// Session is what the log has of one session on one station.
type Session struct {
	ID          string
	Station     int64
	Epoch       string
	Tag         string
	First, Last int64 // numbers in the epoch
	Entries     int64
	// Begun and Newest are the times of the first and the newest entry, zero
	// while nobody can tell; Within is how far Begun may be off.
	Begun, Newest time.Time
	Within        time.Duration
	Part          coach.Part
	Plan          string // its fingerprint
	Resumes       string // the session that the power cut off and this one goes on with
	Outcome       coach.Outcome
	Stopped       bool  // stop was pressed in it
	Undated       int64 // entries of its whole epoch of which nobody can tell the time yet
}

// SessionKey names a session on one station.
type SessionKey struct {
	Station   int64
	Epoch, ID string
}

// Key names the session.
func (v Session) Key() SessionKey { return SessionKey{v.Station, v.Epoch, v.ID} }

// found is what a batch has of a session, from one of its records to another.
type found struct {
	Session
	first, last int
}

// sessions keeps the table of sessions up with new records of an epoch.
func (a *appending) sessions(ctx context.Context, e *epochRow, r span) error {
	known := map[string]*found{}
	var all []*found
	for i := r.from; i < r.to; i++ {
		h := &a.heads[i]
		if h.Session == "" || h.ofEarlier() {
			continue
		}
		v := known[h.Session]
		if v == nil {
			v = &found{Session: Session{ID: h.Session, First: h.Seq}, first: i}
			known[h.Session] = v
			all = append(all, v)
		}
		v.last = i
		v.take(h)
	}
	for _, v := range all {
		if err := a.saveSession(ctx, e, v); err != nil {
			return err
		}
	}
	return nil
}

// take learns from one entry of the session.
func (v *Session) take(h *head) {
	v.Last, v.Entries = h.Seq, v.Entries+1
	if v.Tag == "" {
		v.Tag = h.Tag
	}
	switch h.Kind {
	case coach.EntrySessionStart:
		var d coach.SessionStartData
		h.data(&d)
		v.Part, v.Plan, v.Resumes = d.Part, d.Plan, d.Resumes
	case coach.EntrySessionEnd:
		var d coach.SessionEndData
		h.data(&d)
		v.Outcome = d.Outcome
	case coach.EntryStop:
		v.Stopped = true
	}
}

func (a *appending) saveSession(ctx context.Context, e *epochRow, v *found) error {
	begun, within, how := a.place(e, v.first)
	newest, _, _ := a.place(e, v.last)
	_, err := a.c.exec(ctx, `INSERT INTO session (epoch, session, tag, first_seq, last_seq, entries, begun, newest, within_ms, dated, part, plan, resumes, outcome, stopped)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)
		ON CONFLICT (epoch, session) DO UPDATE SET
		tag = CASE WHEN session.tag = '' THEN excluded.tag ELSE session.tag END,
		begun = CASE WHEN excluded.first_seq < session.first_seq THEN excluded.begun ELSE session.begun END,
		within_ms = CASE WHEN excluded.first_seq < session.first_seq THEN excluded.within_ms ELSE session.within_ms END,
		dated = CASE WHEN excluded.first_seq < session.first_seq THEN excluded.dated ELSE session.dated END,
		newest = CASE WHEN excluded.last_seq > session.last_seq THEN excluded.newest ELSE session.newest END,
		first_seq = CASE WHEN excluded.first_seq < session.first_seq THEN excluded.first_seq ELSE session.first_seq END,
		last_seq = CASE WHEN excluded.last_seq > session.last_seq THEN excluded.last_seq ELSE session.last_seq END,
		entries = session.entries + excluded.entries,
		part = CASE WHEN session.part = '' THEN excluded.part ELSE session.part END,
		plan = CASE WHEN session.plan = '' THEN excluded.plan ELSE session.plan END,
		resumes = CASE WHEN session.resumes = '' THEN excluded.resumes ELSE session.resumes END,
		outcome = CASE WHEN excluded.outcome = '' THEN session.outcome ELSE excluded.outcome END,
		stopped = CASE WHEN excluded.stopped > session.stopped THEN excluded.stopped ELSE session.stopped END`,
		e.id, v.ID, v.Tag, v.First, v.Last, v.Entries, begun, newest, within.Milliseconds(), int64(how),
		string(v.Part), v.Plan, v.Resumes, string(v.Outcome), number(v.Stopped))
	return err
}

// sessionTimes copies the times of a session's first and newest entry.
const sessionTimes = `UPDATE session SET
	(begun, dated, within_ms) = (SELECT at, dated, within_ms FROM entry WHERE entry.epoch = session.epoch AND seq = first_seq),
	newest = (SELECT at FROM entry WHERE entry.epoch = session.epoch AND seq = last_seq)`

const sessionColumns = "v.session, e.station, e.epoch, v.tag, v.first_seq, v.last_seq, v.entries, v.begun, v.newest, v.within_ms, v.dated, v.part, v.plan, v.resumes, v.outcome, v.stopped, e.undated"

func scanSession(r row) (v Session, err error) {
	var how dating
	err = r.Scan(&v.ID, &v.Station, &v.Epoch, &v.Tag, &v.First, &v.Last, &v.Entries, aTime(&v.Begun), aTime(&v.Newest), aSpan(&v.Within),
		&how, &v.Part, &v.Plan, &v.Resumes, &v.Outcome, aFlag(&v.Stopped), &v.Undated)
	if how == notDated {
		v.Begun, v.Newest = time.Time{}, time.Time{}
	}
	return v, err
}

// SessionFilter chooses sessions; a zero field chooses all.
type SessionFilter struct {
	Tag          string
	Station      int64
	Since, Until time.Time // of Begun, or of when it came where nobody can tell: from, and before
	Limit        int       // the newest
}

// Sessions gives sessions in the order in which they began.
func (s *Store) Sessions(ctx context.Context, f SessionFilter) ([]Session, error) {
	var w where
	w.equal("v.tag", f.Tag)
	w.of("e.station", f.Station)
	w.between("v.begun", f.Since, f.Until)
	all, err := many(ctx, s.reading(ctx), scanSession, "the sessions",
		"SELECT "+sessionColumns+" FROM session v JOIN epoch e ON e.id = v.epoch"+w.clause()+" ORDER BY v.begun DESC, v.epoch DESC, v.first_seq DESC"+limited(f.Limit), w.args...)
	slices.Reverse(all)
	return all, err
}

// Session gives a session.
func (s *Store) Session(ctx context.Context, id string) (Session, error) {
	return one(ctx, s.reading(ctx), scanSession, "session",
		"SELECT "+sessionColumns+" FROM session v JOIN epoch e ON e.id = v.epoch WHERE v.session = $1 ORDER BY v.epoch LIMIT 1", id)
}

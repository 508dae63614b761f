package desk

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"evenbell/coach/desk/store"
	"evenbell/coach/journal"
	"evenbell/coach/link"
)

var _ link.Desk = (*Link)(nil)

// Link is the desk as the link sees it.
type Link struct{ d *Desk }

// Link gives the desk's answers to stations.
func (d *Desk) Link() *Link { return &Link{d} }

// Enrol lets a device in by an open code; see [link.Enroller].
func (l *Link) Enrol(ctx context.Context, key, address string, proves func(code string) bool) (link.Enrolment, error) {
	d := l.d
	d.enrolling.Lock()
	defer d.enrolling.Unlock()
	var got link.Enrolment
	var station int64
	wrong := false
	// Whoever knocks while nobody is awaited costs no write.
	if open, err := d.store.OpenCodes(ctx, d.Time()); err != nil {
		return got, fmt.Errorf("enrolling: %w", err)
	} else if len(open) == 0 {
		return got, link.ErrCode
	}
	limits := enrolLimits(address)
	if d.tries.wait(limits, d.moment()) > 0 {
		return got, link.ErrTries
	}
	err := d.store.Together(ctx, func(ctx context.Context) error {
		open, err := d.store.OpenCodes(ctx, d.Time())
		if err != nil {
			return err
		}
		for _, c := range open {
			if proves(c.Code) {
				station = c.Station
				got, err = d.enrol(ctx, c, key)
				return err
			}
		}
		wrong = true
		for _, c := range open {
			if _, err := d.store.WrongTry(ctx, c.ID); err != nil {
				return err
			}
		}
		return d.auditAs(ctx, "a device", string(ManageStations), "", fmt.Sprintf("enrolment refused, key %s, from %s", key, address))
	})
	switch {
	case errors.Is(err, store.ErrTaken), errors.Is(err, store.ErrState):
		return link.Enrolment{}, fmt.Errorf("%w: %w", link.ErrCode, err)
	case err != nil:
		return link.Enrolment{}, fmt.Errorf("enrolling: %w", err)
	case wrong:
		return link.Enrolment{}, link.ErrCode
	}
	d.tries.right(limits)
	d.stationChanged(station)
	d.changed()
	return got, nil
}

// enrol gives a code's station to a key.
func (d *Desk) enrol(ctx context.Context, c store.EnrolmentCode, key string) (link.Enrolment, error) {
	st, err := d.store.Station(ctx, c.Station)
	if err != nil {
		return link.Enrolment{}, err
	}
	secret := make([]byte, 32)
	if _, err := io.ReadFull(d.random, secret); err != nil {
		return link.Enrolment{}, fmt.Errorf("making a secret: %w", err)
	}
	if err := d.store.UseCode(ctx, c.ID, d.Time()); err != nil {
		return link.Enrolment{}, err
	}
	if err := d.store.Enrol(ctx, st.ID, key, secret, d.Time()); err != nil {
		return link.Enrolment{}, err
	}
	err = d.auditAs(ctx, "a device", string(ManageStations), st.Name, "enrolled, key "+key)
	return link.Enrolment{Code: c.Code, Name: st.Name, Secret: secret}, err
}

// Station finds who a key belongs to.
func (l *Link) Station(ctx context.Context, key string) (link.Peer, error) {
	st, err := l.d.store.StationByKey(ctx, key)
	switch {
	case errors.Is(err, store.ErrNotFound):
		return link.Peer{}, link.ErrUnknown
	case err != nil:
		return link.Peer{}, err
	}
	p := link.Peer{ID: st.ID, Name: st.Name, Key: key}
	if st.Revoked != nil {
		return p, link.ErrRevoked
	}
	l.d.board.spoke(p, l.d.moment())
	return p, nil
}

// Marks gives the desk's mark of each epoch.
func (l *Link) Marks(ctx context.Context, from link.Peer, epochs []string) ([]link.Mark, error) {
	out := make([]link.Mark, len(epochs))
	for i, name := range epochs {
		out[i].Epoch = name
		e, err := l.d.store.Mark(ctx, from.ID, name)
		switch {
		case errors.Is(err, store.ErrNotFound):
		case err != nil:
			return nil, err
		default:
			out[i].Seq = e.Mark
		}
	}
	l.d.board.compared(from)
	return out, nil
}

// Append stores a batch with effect once, with all that follows from its
// entries, in one transaction.
func (l *Link) Append(ctx context.Context, from link.Peer, b link.Batch) (link.Mark, error) {
	d := l.d
	got, err := d.intake.take(ctx, len(b.Records), func(ctx context.Context) (store.Appended, error) { return d.append(ctx, from.ID, b) })
	switch {
	case err != nil:
		return link.Mark{}, err
	case got.Refused != "":
		return link.Mark{}, fmt.Errorf("%w: %s", link.ErrChain, got.Refused)
	}
	return link.Mark(got.Mark), nil
}

// append stores a batch, or notes what is gone where it has nothing else.
func (d *Desk) append(ctx context.Context, station int64, b link.Batch) (store.Appended, error) {
	if len(b.Records) == 0 {
		return d.store.Lose(ctx, station, journal.Position{Epoch: b.Epoch, Seq: b.After}, b.Before, d.Time())
	}
	sb := store.Batch{Station: station, Records: b.Records, Received: d.Time(), Carried: b.Carried}
	if b.Gone {
		sb.Gone = &b.Before
	}
	return d.store.Append(ctx, sb)
}

// takeOne stores what came and draws its consequences, in the transaction of
// ctx.
func (d *Desk) takeOne(ctx context.Context, into func(context.Context) (store.Appended, error), n *news) (store.Appended, error) {
	got, err := into(ctx)
	if err != nil {
		return got, err
	}
	for _, e := range got.Added {
		if err := d.noticeEntry(ctx, e, n); err != nil {
			return got, err
		}
	}
	for _, x := range got.Breaks {
		if err := d.broken(ctx, x, n); err != nil {
			return got, err
		}
	}
	return got, nil
}

// noticeEntry is notice for an entry of the log.
func (d *Desk) noticeEntry(ctx context.Context, e store.Entry, n *news) error {
	if !mayMatter[e.Kind] {
		return nil
	}
	entry, err := journal.ParseAnyLine(e.Line)
	if err != nil {
		return fmt.Errorf("reading an entry: %w", err)
	}
	h := happened{station: e.Station, entry: entry, at: e.At, within: e.Within}
	if h.at.IsZero() {
		h.at, h.within = e.Received, nobodyKnows
	}
	return d.notice(ctx, h, n)
}

// Raise takes an entry that people must see now.
func (l *Link) Raise(ctx context.Context, from link.Peer, u link.Urgent) error {
	d := l.d
	h := happened{station: from.ID, entry: u.Entry}
	h.at, h.within, h.byAge = d.whenRaised(u)
	var n news
	err := d.store.Together(ctx, func(ctx context.Context) error { return d.notice(ctx, h, &n) })
	if err != nil {
		return err
	}
	d.tell(n)
	return nil
}

// wayHere is how long an urgent entry may have been on its way.
const wayHere = time.Second

// whenRaised is when an urgent entry happened: by its age on the station's own
// boot clock, which no wrong wall clock can shift, else by its wall time, else
// nobody knows.
func (d *Desk) whenRaised(u link.Urgent) (at time.Time, within time.Duration, byAge bool) {
	now := d.Time()
	switch age := u.MonoNS - u.Entry.MonoNS; {
	case u.Boot == u.Entry.Boot && u.Boot != "" && age >= 0:
		return now.Add(-time.Duration(age)), wayHere + time.Duration(age/store.DriftParts), true
	case u.Entry.Wall != nil && store.OwnTime(*u.Entry.Wall, now):
		return u.Entry.Wall.UTC(), 0, false
	}
	return now, nobodyKnows, false
}

package clinic

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
	"evenbell/coach/journal"
	"evenbell/coach/link"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
	"evenbell/coach/review"
	"evenbell/coach/screening"
	"evenbell/coach/session"
)

// Bays are the invented stations, with where they stand.
var Bays = []store.Station{
	{Name: "Bay 1", Place: "the place by the window"},
	{Name: "Bay 2", Place: "the place by the door"},
	{Name: "Bay 3", Place: "the place under the clock"},
}

// House is the invented station at somebody's home.
var House = store.Station{Name: "Home of Y3", Place: "her living room"}

// Past is an invented clinic's weeks up to Today, in the making.
type Past struct {
	Desk   *desk.Desk
	Link   link.Desk // the desk's end of the link, to which the stations send
	Clock  *Clock    // the desk's
	Speech session.Speech
	Start  coach.SessionStartData // voice and program of every session
	Today  coach.Day
	Weeks  int // at most; 0 for all there are
	Zone   *time.Location
	// Say gives a file in which somebody says some words; nil where nobody can,
	// and an error where these can't be said: they then stay typed.
	Say  func(ctx context.Context, words string) ([]byte, error)
	Rand *rand.Rand
	// The staff, who exist already.
	Supervisor, Assistant, Admin desk.Actor

	people []Person
	bodies map[string]*body
	met    map[string]int // visits so far
	last   map[string]int // visits in all
	bays   []*bay
	house  *bay // at the home of the one who exercises there
}

// bay is one invented station.
type bay struct {
	peer link.Peer
	log  *DeviceLog
	at   journal.Hash // of what the desk has
	seq  int64
}

// Make goes through the weeks day by day.
func (p *Past) Make(ctx context.Context) error {
	p.people, p.bodies = People(p.Today), make(map[string]*body)
	p.met, p.last = make(map[string]int), make(map[string]int)
	for i := range p.people {
		who := &p.people[i]
		p.bodies[who.Tag] = newBody(p.Rand)
		if p.Weeks > 0 {
			who.Since = min(who.Since, p.Weeks)
		}
	}
	first := p.first()
	p.set(first, 7*time.Hour)
	if err := p.furnish(ctx); err != nil {
		return err
	}
	comes := p.diary(first)
	for day := first; day < p.Today; day = day.AddDays(1) {
		if len(comes[day]) > 0 {
			// One transaction a day: nobody else is there to wait for it.
			err := p.Desk.Store().Together(ctx, func(ctx context.Context) error { return p.day(ctx, day, comes[day]) })
			if err != nil {
				return fmt.Errorf("%s: %w", day, err)
			}
		}
	}
	p.set(p.Today, 7*time.Hour)
	return nil
}

// first is the Monday on which the earliest began.
func (p *Past) first() coach.Day {
	weeks := 0
	for _, who := range p.people {
		weeks = max(weeks, who.Since)
	}
	monday := p.Today.AddDays(-(int(p.Today.Time().Weekday()) + 6) % 7)
	return monday.AddDays(-7 * weeks)
}

// diary is who comes on which day, with what is missed left out.
func (p *Past) diary(first coach.Day) map[coach.Day][]*Person {
	comes := make(map[coach.Day][]*Person)
	monday := p.Today.AddDays(-(int(p.Today.Time().Weekday()) + 6) % 7)
	for i := range p.people {
		who := &p.people[i]
		for day := monday.AddDays(-7 * who.Since); day < p.Today; day = day.AddDays(1) {
			weekday := (int(day.Time().Weekday()) + 6) % 7
			if slices.Contains(who.Days, weekday) && p.Rand.Float64() >= who.Misses {
				comes[day] = append(comes[day], who)
				p.last[who.Tag]++
			}
		}
	}
	return comes
}

// set puts the clock at an hour of the clinic's day.
func (p *Past) set(day coach.Day, hour time.Duration) { p.Clock.Set(p.at(day, hour)) }

func (p *Past) at(day coach.Day, hour time.Duration) time.Time {
	d := day.Time()
	return time.Date(d.Year(), d.Month(), d.Day(), 0, 0, 0, 0, p.Zone).Add(hour)
}

// furnish sets the clinic up: its name, what it owns, its stations.
func (p *Past) furnish(ctx context.Context) error {
	_, err := p.Desk.ChangeClinic(ctx, p.Admin, func(c *desk.Clinic) error {
		c.Name, c.Zone, c.Unit, c.Voice = Name, p.Zone.String(), coach.Kilogram, "en"
		c.Owned, c.Telephone = Owned, Telephone
		c.Emergency = "Staff come to you at once."
		return nil
	})
	if err != nil {
		return fmt.Errorf("the clinic's settings: %w", err)
	}
	if err := p.teach(ctx); err != nil {
		return fmt.Errorf("the clinic's own exercise: %w", err)
	}
	for _, b := range Bays {
		made, err := p.enrol(ctx, b)
		if err != nil {
			return fmt.Errorf("%s: %w", b.Name, err)
		}
		p.bays = append(p.bays, made)
	}
	if p.house, err = p.enrol(ctx, House); err != nil {
		return fmt.Errorf("%s: %w", House.Name, err)
	}
	for _, who := range p.people {
		if who.Record.Home != nil {
			who.Record.Home.Station = p.house.peer.ID
		}
	}
	return nil
}

func (p *Past) enrol(ctx context.Context, b store.Station) (*bay, error) {
	code, _, _, err := p.Desk.Code(ctx, p.Admin, b.Name)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256([]byte("the invented key of " + b.Name))
	key := hex.EncodeToString(sum[:])
	if _, err := p.Link.Enrol(ctx, key, "192.0.2.7", func(c string) bool { return c == code }); err != nil {
		return nil, err
	}
	if err := p.Desk.RenameStation(ctx, p.Admin, b.Name, b.Name, b.Place); err != nil {
		return nil, err
	}
	peer, err := p.Link.Station(ctx, key)
	if err != nil {
		return nil, err
	}
	return &bay{peer: peer, log: NewDeviceLog(p.Rand)}, nil
}

// day is one day of the clinic: screening, plans, sessions, and what follows
// from them.
func (p *Past) day(ctx context.Context, day coach.Day, comes []*Person) error {
	p.set(day, 7*time.Hour+30*time.Minute)
	var tags []string
	for _, who := range comes {
		ready, err := p.prepare(ctx, day, who)
		if err != nil {
			return fmt.Errorf("%s: %w", who.Tag, err)
		}
		switch {
		case ready && who.Record.Home != nil:
			if err := p.shift(ctx, day, p.house, []string{who.Tag}); err != nil {
				return fmt.Errorf("%s: %w", House.Name, err)
			}
		case ready:
			tags = append(tags, who.Tag)
		}
	}
	if p.classDay(day) && len(tags) > 1 {
		return p.class(ctx, day, tags)
	}
	for i, b := range p.bays {
		var here []string
		for n, tag := range tags {
			if n%len(p.bays) == i {
				here = append(here, tag)
			}
		}
		if len(here) == 0 {
			continue
		}
		if err := p.shift(ctx, day, b, here); err != nil {
			return fmt.Errorf("%s: %w", b.peer.Name, err)
		}
	}
	return nil
}

// prepare gets one patient ready for the day: known, cleared, screened, with an
// approved plan; false where they can't be coached today.
func (p *Past) prepare(ctx context.Context, day coach.Day, who *Person) (bool, error) {
	if p.met[who.Tag] == 0 {
		if err := p.admit(ctx, day, who); err != nil {
			return false, err
		}
	} else {
		if err := p.clear(ctx, who.Tag); err != nil {
			return false, err
		}
		if p.met[who.Tag]%2 == 0 { // once a week
			if err := p.review(ctx, who.Tag); err != nil {
				return false, err
			}
		}
	}
	s, err := p.Desk.Screen(ctx, p.Assistant, who.Tag, p.readings(day, who))
	if err != nil {
		return false, fmt.Errorf("screening: %w", err)
	}
	return s.Result.Verdict != protocol.NotToday, nil
}

// admit adds a patient with their first plan.
func (p *Past) admit(ctx context.Context, day coach.Day, who *Person) error {
	if _, err := p.Desk.AddPatient(ctx, p.Supervisor, store.Patient{Tag: who.Tag, Name: who.Name, Record: who.Record}); err != nil {
		return err
	}
	limits, err := p.Desk.Protocol(ctx)
	if err != nil {
		return err
	}
	first := who.First(day, day.AddDays(planWeeks*7), limits)
	rx, checked, err := p.Desk.Draft(ctx, p.Assistant, who.Tag, string(plan.Write(first)))
	if err != nil {
		return fmt.Errorf("the first plan: %w", err)
	}
	_, err = p.Desk.Approve(ctx, p.Supervisor, rx.ID, checked.Plan.Fingerprint())
	return err
}

// planWeeks is how long a plan is for.
const planWeeks = 4

// clear ends what a stop began, two days or more ago.
func (p *Past) clear(ctx context.Context, tag string) error {
	who, err := p.Desk.View(ctx, p.Supervisor, tag)
	if err != nil {
		return err
	}
	for _, h := range who.Holds {
		if _, err := p.Desk.Clear(ctx, p.Supervisor, h.ID, "Seen by the doctor; may go on at the same loads."); err != nil {
			return fmt.Errorf("clearing: %w", err)
		}
	}
	return nil
}

// review decides what is proposed and approves the next plan.
func (p *Past) review(ctx context.Context, tag string) error {
	seen, err := p.Desk.Review(ctx, p.Supervisor, tag, "", "")
	if err != nil {
		return err
	}
	if err := p.watch(ctx, tag, seen.Log); err != nil {
		return err
	}
	if _, err := p.Desk.AcceptHolds(ctx, p.Supervisor, tag); err != nil {
		return fmt.Errorf("accepting holds: %w", err)
	}
	for _, x := range seen.Proposals {
		if x.Decision != nil || x.Proposal.Action == dose.Hold {
			continue
		}
		answer, reason := store.Accepted, ""
		if p.Rand.Float64() < 0.06 {
			answer, reason = store.Declined, "A tiring week; once more at the same load."
		}
		if _, err := p.Desk.Decide(ctx, p.Supervisor, tag, x.Proposal.Exercise, x.Told, answer, coach.Dose{}, reason); err != nil {
			return fmt.Errorf("deciding on %s: %w", x.Proposal.Exercise, err)
		}
	}
	rx, checked, err := p.Desk.NextPlan(ctx, p.Supervisor, tag)
	if err != nil {
		return fmt.Errorf("the next plan: %w", err)
	}
	if checked.Plan == nil {
		return fmt.Errorf("the next plan: %w", desk.Faulty{Faults: checked.Faults})
	}
	_, err = p.Desk.Approve(ctx, p.Supervisor, rx.ID, checked.Plan.Fingerprint())
	return err
}

// watch notes that staff stood by at the newest visit, as they mostly do in
// the first weeks.
func (p *Past) watch(ctx context.Context, tag string, done *review.Log) error {
	visits := done.Visits()
	if p.met[tag] > 4 && p.met[tag]%3 != 0 || len(visits) == 0 {
		return nil
	}
	for _, at := range visits[len(visits)-1].Stays {
		for _, it := range at.Session.Items {
			if !it.Worked() {
				continue
			}
			if err := p.Desk.Observed(ctx, p.Assistant, tag, it.Exercise, at.ID); err != nil {
				return fmt.Errorf("noting who watched %s: %w", it.Exercise, err)
			}
		}
	}
	return nil
}

// readings are a day's answers and measurements.
func (p *Past) readings(day coach.Day, who *Person) screening.Today {
	yes, no := true, false
	about := func(mean, spread float64) float64 { return float64(int(mean + spread*p.Rand.NormFloat64())) }
	rate := about(66, 5)
	gain := 0.2
	t := screening.Today{Day: day, Well: &yes, NewSymptoms: &no, TabletsTaken: &yes, Admitted: &no, HeartRate: &rate,
		Rest: &screening.Pressure{Systolic: min(about(126, 8), 150), Diastolic: min(about(76, 5), 92)}}
	if who.Record.Screening.HeartFailure {
		t.WeightGain = &gain
	}
	return t
}

// shift is one station's day.
func (p *Past) shift(ctx context.Context, day coach.Day, b *bay, tags []string) error {
	sent, err := p.Desk.Load(ctx, p.Supervisor, b.peer.Name, day, tags...)
	if err != nil {
		return fmt.Errorf("loading the plan: %w", err)
	}
	limits, err := p.Desk.Protocol(ctx)
	if err != nil {
		return err
	}
	whole, faults := plan.Read(b.peer.Name, []byte(sent.Text), limits)
	if whole == nil {
		return desk.Faulty{Faults: faults}
	}
	begin := p.at(day, 8*time.Hour+30*time.Minute)
	if err := p.boot(ctx, b, begin); err != nil {
		return err
	}
	for n, tag := range tags {
		if err := p.session(ctx, day, b, whole, tag, begin.Add(time.Duration(n)*time.Hour+30*time.Minute)); err != nil {
			return fmt.Errorf("%s: %w", tag, err)
		}
	}
	return nil
}

// boot turns a station on.
func (p *Past) boot(ctx context.Context, b *bay, at time.Time) error {
	started, err := b.log.Boot(at)
	if err != nil {
		return err
	}
	b.at, b.seq = journal.Hash{}, 0
	return p.send(ctx, b, started)
}

// session is one patient's session at a station.
func (p *Past) session(ctx context.Context, day coach.Day, b *bay, whole *plan.Plan, tag string, at time.Time) error {
	prog, err := whole.Resolve(tag, day)
	if err != nil {
		return err
	}
	p.met[tag]++
	p.freshen(tag)
	if _, _, err := p.coach(ctx, b, whole, &prog, p.visitor(tag), at); err != nil {
		return err
	}
	return p.attend(ctx)
}

// freshen is how somebody's day goes.
func (p *Past) freshen(tag string) { p.bodies[tag].today = 1 + 0.02*p.Rand.NormFloat64() }

// visitor presses the buttons of a session of the visit that a tag has come to.
func (p *Past) visitor(tag string) *visitor {
	who := p.person(tag)
	return &visitor{body: p.bodies[tag], r: p.Rand, taps: who.Taps, mishap: who.Mishaps[p.last[tag]-p.met[tag]]}
}

// coach leads one session and sends what was logged; it gives when and how it
// ended.
func (p *Past) coach(ctx context.Context, b *bay, whole *plan.Plan, prog *coach.Programme, v *visitor, at time.Time) (time.Time, coach.Outcome, error) {
	start := p.Start
	start.Plan, start.Protocol, start.Part, start.Speed = whole.Fingerprint(), whole.Protocol.Fingerprint(), prog.Part, "1"
	entries, length := visit(prog, p.Speech, start, v)
	outcome := v.sess.Outcome()
	id := b.log.Session()
	if slices.ContainsFunc(entries, func(e coach.Entry) bool { return e.Kind == coach.EntryStop }) {
		entries = append(entries, coach.Entry{Kind: coach.EntryRelease, Sample: length + coach.SessionRate.At(6*time.Minute),
			Data: &coach.ReleaseData{By: p.Supervisor.Name}})
	}
	records, err := b.log.Add(id, at, entries...)
	if err != nil {
		return at, outcome, err
	}
	end := at.Add(coach.SessionRate.Duration(length))
	if end.After(p.Clock.Now()) {
		p.Clock.Set(end)
	}
	return end, outcome, p.send(ctx, b, records)
}

func (p *Past) person(tag string) *Person {
	i := slices.IndexFunc(p.people, func(x Person) bool { return x.Tag == tag })
	return &p.people[i]
}

// send is the station's upload.
func (p *Past) send(ctx context.Context, b *bay, records []journal.Record) error {
	batch := link.Batch{Epoch: records[0].Epoch, After: b.seq, Before: b.at, Records: records}
	mark, err := p.Link.Append(ctx, b.peer, batch)
	if err != nil {
		return fmt.Errorf("sending the log: %w", err)
	}
	last := records[len(records)-1]
	b.at, b.seq = last.Hash, last.Seq
	if mark.Seq != last.Seq {
		return fmt.Errorf("sending the log: the desk has it up to %d, not %d", mark.Seq, last.Seq)
	}
	return nil
}

// attend is staff looking after whoever needs them.
func (p *Past) attend(ctx context.Context) error {
	now, err := p.Desk.Now(ctx, p.Assistant)
	if err != nil {
		return err
	}
	slices.SortFunc(now.Needs, func(a, b desk.Need) int { return cmp.Compare(a.ID, b.ID) })
	for _, need := range now.Needs {
		at := p.Clock.Now()
		if err := p.Desk.Shown(ctx, p.Assistant, need.ID); err != nil {
			return err
		}
		p.Clock.Set(at.Add(6 * time.Second))
		if _, err := p.Desk.Going(ctx, p.Assistant, need.ID); err != nil {
			return err
		}
		p.Clock.Set(at.Add(11 * time.Minute))
		if _, err := p.Desk.Close(ctx, p.Supervisor, need.ID, "Sat down, pulse and pressure taken, rhythm looked at.",
			"Went by itself within five minutes; told the family doctor."); err != nil {
			return err
		}
	}
	return nil
}

package station

import (
	"fmt"
	"os"
	"slices"

	"evenbell/coach"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
	"evenbell/coach/session"
	"evenbell/hardware"
)

// fewDays is how many days of room for the log are few.
const fewDays = 30

// readiness is what a station finds when it looks around between sessions.
type readiness struct {
	plan     *plan.Plan // nil where there is none to coach by
	day      coach.Day
	guests   []session.Guest
	progs    []coach.Programme // of the guests
	refusal  coach.Trouble     // why nobody can be coached; empty where somebody can
	troubles []coach.Trouble   // worth saying
	daysLeft int               // of room for the log
	patience coach.Patience
}

// look looks around: at the plan, the disk, the clock and the buttons. A new
// plan is taken here, between sessions, and never within one.
func (d *Device) look() *readiness {
	r := &readiness{patience: protocolPatience(protocol.Default())}
	now, known := d.trusted()
	r.day = coach.DayOf(now.In(d.Config.Zone))
	if !known {
		r.trouble(coach.TroubleClock)
	}
	d.lookAtPlan(r, known)
	d.lookAtDisk(r)
	if d.Box.Err() != nil {
		r.refuse(coach.TroubleButtons)
	}
	for _, c := range hardware.Missing(d.Box) {
		d.Log.Error("a button is not connected", "control", c)
		if c == hardware.Stop {
			r.refuse(coach.TroubleRedMissing)
		} else {
			r.refuse(coach.TroubleButtons)
		}
	}
	for _, c := range hardware.Stuck(d.Box) {
		d.Log.Error("a button is stuck", "control", c)
		r.trouble(coach.TroubleStuck)
		if c == hardware.Stop {
			r.refuse(coach.TroubleRedMissing)
		}
	}
	if d.desk != nil {
		d.desk.looked(r)
	}
	return r
}

func (r *readiness) trouble(t coach.Trouble) { r.troubles = append(r.troubles, t) }

// filling reports whether the log is running out of room: the pace lamp shows
// it until somebody makes some, for the voice says it at the start alone.
func (r *readiness) filling() bool {
	return r.refusal == coach.TroubleSpaceFull || slices.Contains(r.troubles, coach.TroubleSpaceLow)
}

// refuse keeps the first reason why nobody can be coached.
func (r *readiness) refuse(t coach.Trouble) {
	if r.refusal == "" {
		r.refusal = t
	}
}

func (d *Device) lookAtDisk(r *readiness) {
	space, err := d.journal.Space()
	r.daysLeft = space.DaysLeft()
	switch {
	case err != nil:
		d.Log.Error("asking for the room left for the log", "error", err)
	case !space.WholeSession():
		r.refuse(coach.TroubleSpaceFull)
	case space.DaysLeft() < fewDays:
		r.trouble(coach.TroubleSpaceLow)
	}
}

func (d *Device) lookAtPlan(r *readiness, dayKnown bool) {
	p, refusal, err := d.readPlan()
	if d.desk != nil && d.Config.Plan == "" {
		d.desk.notePlan(p, err)
	}
	if err != nil {
		d.Log.Error("no plan to coach by", "error", err)
	}
	if refusal != "" {
		r.refuse(refusal)
		return
	}
	r.patience = protocolPatience(p.Protocol)
	if !dayKnown {
		r.day = p.Day // staff were told that the clock is not set
	}
	if !p.Covers(r.day) && !hasHome(p) {
		r.refuse(coach.TroublePlanOtherDay)
		return
	}
	r.plan = p
	d.invite(r)
	if len(r.guests) == 0 {
		r.refuse(coach.TroublePlanMissing)
	}
}

// readPlan reads the plan file anew. It gives the trouble where there is no
// plan to coach by.
func (d *Device) readPlan() (*plan.Plan, coach.Trouble, error) {
	if d.Config.Plan == "" && d.desk != nil {
		return d.deskPlan()
	}
	if d.Config.Plan == "" {
		return nil, coach.TroublePlanMissing, fmt.Errorf("station.toml names no plan file")
	}
	limits, err := d.readProtocol()
	if err != nil {
		return nil, coach.TroublePlanFaulty, err
	}
	text, err := os.ReadFile(d.Config.Plan)
	if err != nil {
		return nil, coach.TroublePlanMissing, err
	}
	return checkPlan(d.Config.Plan, text, limits)
}

func (d *Device) readProtocol() (*protocol.Protocol, error) {
	if d.Config.Protocol == "" {
		return protocol.Default(), nil
	}
	text, err := os.ReadFile(d.Config.Protocol)
	if err != nil {
		return nil, err
	}
	p, faults := protocol.Read(d.Config.Protocol, text)
	if p == nil {
		return nil, fmt.Errorf("the protocol has %d fault(s); the first: %s", len(coach.Errors(faults)), coach.Errors(faults)[0])
	}
	return p, nil
}

// invite lists who can be coached: who is expected next comes first, who has
// finished today comes last.
func (d *Device) invite(r *readiness) {
	day := r.day
	if !r.plan.Covers(day) {
		day = r.plan.Day // only to name them
	}
	for _, finished := range []bool{false, true} {
		for _, who := range r.plan.Patients {
			if d.history.doneOn(who.Tag, r.day) != finished || (d.Config.Tag != "" && who.Tag != d.Config.Tag) {
				continue
			}
			prog, err := r.plan.Resolve(who.Tag, day)
			if err != nil {
				d.Log.Error("a patient of the plan can't be coached", "tag", who.Tag, "error", err)
				continue
			}
			r.progs = append(r.progs, prog)
		}
	}
	for i := range r.progs {
		name := r.progs[i].Call
		if name == "" {
			name = r.progs[i].Tag
		}
		g := session.Guest{Tag: r.progs[i].Tag, Name: name, First: &r.progs[i].Items[0],
			Held: d.held(r.progs[i].Tag), Home: r.progs[i].Home}
		d.mayToday(r, &g)
		r.guests = append(r.guests, g)
	}
}

// mayToday notes what keeps a guest from being coached today: at home the day
// and what was done before it.
func (d *Device) mayToday(r *readiness, g *session.Guest) {
	switch {
	case g.Home == nil && !r.plan.Covers(r.day):
		g.Refusal = coach.TroublePlanOtherDay
	case g.Home == nil:
	case !r.plan.Covers(r.day):
		g.NotToday = notInPlan(r.plan, r.day)
	default:
		d.mu.Lock()
		defer d.mu.Unlock()
		g.NotToday, g.AsksRested = d.history.notToday(g.Tag, g.Home, d.present(r.day), r.plan.LastDay())
	}
}

// offer is the session the power cut off, where it can be gone on with: it
// was broken off on this day, and its patient and item are in the plan.
func (d *Device) offer(r *readiness) *session.Broken {
	b := d.broken
	if b == nil || d.history.broken == nil || d.history.broken.id != b.id || r.refusal != "" || !r.plan.Covers(r.day) {
		return nil
	}
	if day := d.history.day(b.last); day != "" && day != r.day {
		return nil
	}
	item := b.goesOnAt()
	for i := range r.progs {
		if r.guests[i].Held {
			continue
		}
		if r.progs[i].Tag == b.tag && item < len(r.progs[i].Items) {
			return &session.Broken{Guest: i, Item: item, Exercise: r.progs[i].Items[item].Exercise, SwitchedOff: b.off}
		}
	}
	return nil
}

// warmsUpAgain reports whether a broken session needs a new warm-up.
func (d *Device) warmsUpAgain(b *brokenSession, p *protocol.Protocol) bool {
	if b.item < 0 {
		return true
	}
	now := d.Clock.Now()
	ago, known := b.ago(bootID(), now.Mono, now.Wall, now.Trusted)
	return !known || ago > p.Seconds(protocol.RestartWarmUp)
}

package desk

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenbell/coach/circuit"
	"evenbell/coach/desk/store"
)

// When the timetable of a running class is made anew. common practice, no
// source.
const (
	lateBy       = time.Minute      // somebody is behind it by as much
	repairsApart = time.Minute      // at least, from one repair to the next
	repairWithin = time.Second      // how long is searched
	lookEvery    = 10 * time.Second // how often the floor is looked at
)

// Late says that somebody of a running class comes, or goes on, so much later
// (RunClass); the rest is repaired without moving anyone at work.
func (d *Desk) Late(ctx context.Context, who Actor, id int64, tag string, by time.Duration) error {
	if err := who.check(RunClass); err != nil {
		return err
	}
	if by <= 0 || by > 4*time.Hour {
		return refuse("by", "is %s; up to four hours", by)
	}
	return d.repairFor(ctx, who, id, tag, fmt.Sprintf("%s is late by %s", tag, lateWords(by)), func(h *heldClass, now int) {
		h.Ready[tag] = h.planned(tag, now) + int(by/time.Second)
	})
}

// Left says that somebody of a running class has gone home (RunClass).
func (d *Desk) Left(ctx context.Context, who Actor, id int64, tag string) error {
	return d.repairFor(ctx, who, id, tag, tag+" has left", func(h *heldClass, _ int) { h.Left[tag] = true })
}

// planned is when a patient's next visit is to begin, at now or later.
func (h *heldClass) planned(tag string, now int) int {
	next := now
	for j, who := range h.Problem.Patients {
		if who.Tag != tag {
			continue
		}
		next = max(next, who.Arrives)
		ahead := -1
		for _, s := range h.inClass.Timetable.Slots[j] {
			if s.Place != circuit.Nowhere && s.Arrive > now && (ahead < 0 || s.Arrive < ahead) {
				ahead = s.Arrive
			}
		}
		next = max(next, ahead)
	}
	return next
}

func (d *Desk) repairFor(ctx context.Context, who Actor, id int64, tag, note string, tell func(*heldClass, int)) error {
	if err := who.check(RunClass); err != nil {
		return err
	}
	h, err := d.classWith(ctx, id)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(h.Problem.Patients, func(p circuit.Patient) bool { return p.Tag == tag }) {
		return refuse("tag", "%s is not in this class", tag)
	}
	tell(h, h.since(d.Time()))
	f, _, err := d.floor(ctx, h)
	if err != nil {
		return err
	}
	return d.repair(ctx, who, h, f, note)
}

// floor is how a class stands: what has begun is told by the stations' own
// sessions, and in the areas by the timetable. behind says who is late against
// it; empty for nobody.
func (d *Desk) floor(ctx context.Context, h *heldClass) (f circuit.Floor, behind string, err error) {
	now := h.since(d.Time())
	f = h.inClass.Timetable.FloorAt(h.Problem, now)
	sessions, err := d.store.Sessions(ctx, store.SessionFilter{Since: h.begins.Add(-time.Hour)})
	if err != nil {
		return f, "", err
	}
	stations, err := d.store.Stations(ctx)
	if err != nil {
		return f, "", err
	}
	at := map[string]store.Session{} // by tag and station's name
	for _, st := range stations {
		for _, s := range sessions {
			if s.Station == st.ID {
				at[s.Tag+"\x00"+st.Name] = s
			}
		}
		if live := d.board.look(st.ID); busy(live.status) {
			key := live.status.Session.Tag + "\x00" + st.Name
			if s, known := at[key]; !known || s.ID != live.status.Session.ID {
				at[key] = store.Session{ID: live.status.Session.ID, Begun: live.began, Newest: live.heard}
			}
		}
	}
	for j, who := range h.Problem.Patients {
		f.Left[j], f.Ready[j] = h.Left[who.Tag], h.Ready[who.Tag]
		for n := range who.Visits {
			late := h.visit(&f, j, n, now, at)
			if late && !f.Left[j] && behind == "" {
				behind = who.Tag
			}
		}
	}
	return f, behind, nil
}

// visit puts one visit on the floor as it really is, and tells whether it is
// behind the timetable.
func (h *heldClass) visit(f *circuit.Floor, j, n, now int, at map[string]store.Session) (late bool) {
	slot := h.inClass.Timetable.Slots[j][n]
	if slot.Place == circuit.Nowhere || slot.Place >= len(h.gym.Places) {
		return false
	}
	who := h.Problem.Patients[j]
	s, begun := at[who.Tag+"\x00"+h.gym.Places[slot.Place].Name]
	f.Begun[j][n] = begun
	if !begun {
		f.Slots[j][n] = slot
		return slot.Arrive < now-int(lateBy/time.Second)
	}
	option := who.Visits[n].Where[0]
	arrive := min(now, max(0, h.since(s.Begun)))
	end := max(now, arrive+option.Lead+option.Item)
	if s.Outcome != "" {
		end = max(arrive, min(now, h.since(s.Newest)))
	}
	f.Slots[j][n] = circuit.Slot{Place: slot.Place, Arrive: arrive, Start: min(end, arrive+option.Lead), End: end}
	return end > slot.End+int(lateBy/time.Second)
}

// repair makes the rest of a class's timetable anew and tells the stations.
func (d *Desk) repair(ctx context.Context, who Actor, h *heldClass, f circuit.Floor, note string) error {
	d.classes.Lock()
	until := time.Now().Add(repairWithin)
	t, err := circuit.Repair(h.Problem, h.inClass.Timetable, f, circuit.Options{Seed: 1, Iterations: 200_000, Stop: func() bool { return time.Now().After(until) }})
	d.classes.Unlock()
	if err != nil {
		return fmt.Errorf("class %d: %w", h.ID, err)
	}
	h.inClass.Timetable, h.Repaired = t, d.Time()
	h.note(fmt.Sprintf("%s; ends %s", note, h.gym.At(t.Span)), h.gym.At(max(0, f.Now)))
	var sent []store.StationPlan
	err = d.change(ctx, func(ctx context.Context) error {
		if h.Loaded {
			if sent, err = d.newOrders(ctx, who, h, f); err != nil {
				return err
			}
		}
		if err := d.saveClass(ctx, h); err != nil {
			return err
		}
		return d.audit(ctx, who, RunClass, fmt.Sprintf("class %d", h.ID), note)
	})
	if err != nil {
		return err
	}
	for _, sp := range sent {
		d.planSent(sp)
	}
	d.allStationsChanged() // where to go next
	return nil
}

// note adds what was done and when; of the same said again and again, the last.
func (h *heldClass) note(what, at string) {
	if n := len(h.Notes); n > 0 {
		_, before, _ := strings.Cut(h.Notes[n-1], ": ")
		if was, _, _ := strings.Cut(before, ";"); strings.HasPrefix(what, was+";") {
			h.Notes = h.Notes[:n-1]
		}
	}
	h.Notes = append(h.Notes, at+": "+what)
}

// newOrders sends a plan to each station where people now come in another
// order. A station takes it between people.
func (d *Desk) newOrders(ctx context.Context, who Actor, h *heldClass, f circuit.Floor) ([]store.StationPlan, error) {
	var sent []store.StationPlan
	for place := range h.gym.Places {
		order := h.gym.PlanFor(h.inClass.Timetable, place).Tags()
		if len(order) == 0 || slices.Equal(order, h.Orders[place]) {
			continue
		}
		sp, err := d.sendPlace(ctx, who, h, place)
		if err != nil {
			return nil, err
		}
		sent = append(sent, *sp)
	}
	return sent, nil
}

// watchClasses repairs the classes that go on and have fallen behind, or lost
// somebody to a stop.
func (d *Desk) watchClasses(ctx context.Context) error {
	today, err := d.Today(ctx)
	if err != nil {
		return err
	}
	all, err := d.store.Classes(ctx, today, today)
	if err != nil {
		return err
	}
	for _, c := range all {
		h, err := d.classOf(ctx, c)
		if err != nil {
			return err
		}
		now := h.since(d.Time())
		if !h.Loaded || now < 0 || now > h.inClass.Timetable.Span+int(time.Hour/time.Second) || d.Time().Sub(h.Repaired) < repairsApart {
			continue
		}
		if err := d.watchClass(ctx, h); err != nil {
			return err
		}
	}
	return nil
}

func (d *Desk) watchClass(ctx context.Context, h *heldClass) error {
	note := ""
	for _, who := range h.Problem.Patients {
		if h.Left[who.Tag] {
			continue
		}
		held, err := d.openHoldsOf(ctx, who.Tag)
		if err != nil {
			return err
		}
		if len(held) > 0 {
			h.Left[who.Tag] = true
			note = who.Tag + " is held and goes no further"
		}
	}
	f, behind, err := d.floor(ctx, h)
	if err != nil {
		return err
	}
	switch {
	case note == "" && behind == "":
		return nil
	case note == "":
		note = behind + " is behind the timetable"
	}
	return d.repair(ctx, Actor{Name: byDesk}, h, f, note)
}

// lateWords is how late somebody is: "10 min", with seconds only under two.
func lateWords(by time.Duration) string {
	if by < 2*time.Minute && by%time.Minute != 0 {
		return fmt.Sprintf("%d s", int(by.Seconds()))
	}
	return fmt.Sprintf("%d min", int(by.Round(time.Minute).Minutes()))
}

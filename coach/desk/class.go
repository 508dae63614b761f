package desk

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/circuit"
	"evenbell/coach/class"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
	"evenbell/coach/plan"
)

// ClassView is a class with its timetable and how far it is.
type ClassView struct {
	store.Class
	Gym       *class.Gym
	Problem   *circuit.Problem
	Timetable *circuit.Timetable
	Begins    time.Time
	Now       int      // seconds since the beginning; negative before it
	Places    []string // the stations' names, then the areas
	Loaded    bool     // stations have their plans
	Notes     []string // repairs made, in plain words, oldest first
}

// inClass is what is kept of a class beside its text.
type inClass struct {
	Plan      string             `json:"plan"` // of everybody, put together of their prescriptions
	Problem   *circuit.Problem   `json:"problem"`
	Stays     [][]class.Stay     `json:"stays"`
	Timetable *circuit.Timetable `json:"timetable"`
	Loaded    bool               `json:"loaded"`
	Left      map[string]bool    `json:"left"`
	Ready     map[string]int     `json:"ready"`  // seconds from the beginning, before which somebody begins nothing
	Orders    map[int][]string   `json:"orders"` // of each place: who comes, as the station was told
	Notes     []string           `json:"notes"`
	Repaired  time.Time          `json:"repaired"`
}

// className is what faults call a class.
const className = "class"

// Classes are those of a day (RunClass).
func (d *Desk) Classes(ctx context.Context, who Actor, day coach.Day) ([]store.Class, error) {
	if err := who.check(RunClass); err != nil {
		return nil, err
	}
	return d.store.Classes(ctx, day, day)
}

// AddClass reads a class (class/1 without a plan: its [[patient]] tables name
// who comes), puts its plan together of the prescriptions in force, searches a
// timetable for as long as the budget lasts and keeps it (RunClass). Faulty
// where the class can't be read or can't be held; a patient who must not come
// is refused as by Load.
func (d *Desk) AddClass(ctx context.Context, who Actor, day coach.Day, text string, budget time.Duration) (store.Class, error) {
	if err := who.check(RunClass); err != nil {
		return store.Class{}, err
	}
	limits, err := d.Protocol(ctx)
	if err != nil {
		return store.Class{}, err
	}
	c, faults := class.Read(className, []byte(text), limits, nil)
	if c == nil {
		return store.Class{}, Faulty{coach.Errors(faults)}
	}
	var all []prescribed
	for _, tag := range c.Tags {
		p, err := d.prescribedFor(ctx, who, tag, day)
		if err != nil {
			return store.Class{}, err
		}
		all = append(all, p)
	}
	pl, err := compose(all, day, false)
	if err != nil {
		return store.Class{}, err
	}
	k, err := d.solve(c.Of(pl), budget)
	if err != nil {
		return store.Class{}, err
	}
	return d.keepClass(ctx, who, store.Class{Day: day, Text: text, By: who.Name, At: d.Time()}, k)
}

// solve searches the timetable of a class.
func (d *Desk) solve(c *class.Class, budget time.Duration) (*inClass, error) {
	if d.length == nil {
		return nil, errors.New("this desk can't tell how long sessions take")
	}
	d.classes.Lock()
	defer d.classes.Unlock()
	g, err := class.Prepare(c, func(who coach.Programme) (lead, total int, err error) {
		first, all, err := d.length(c.Plan.Voice, who)
		return upSeconds(first), upSeconds(all), err
	})
	if err != nil {
		return nil, impossible(err)
	}
	until := time.Now().Add(budget)
	t, err := circuit.Solve(g.Problem, circuit.Options{Seed: 1, Iterations: 1 << 40, Stop: func() bool { return time.Now().After(until) }})
	if err != nil {
		return nil, impossible(err)
	}
	return &inClass{Plan: string(plan.Write(c.Plan)), Problem: g.Problem, Stays: g.Stays, Timetable: t,
		Left: map[string]bool{}, Ready: map[string]int{}, Orders: map[int][]string{}}, nil
}

// impossible is a class that asks for what cannot be.
func impossible(err error) error {
	if errors.Is(err, circuit.ErrImpossible) {
		return Faulty{[]coach.Fault{{File: className, Message: err.Error()}}}
	}
	return err
}

func upSeconds(d time.Duration) int { return int((d + time.Second - 1) / time.Second) }

func (d *Desk) keepClass(ctx context.Context, who Actor, c store.Class, k *inClass) (store.Class, error) {
	text, err := json.Marshal(k)
	if err != nil {
		return c, err
	}
	c.Timetable = string(text)
	err = d.change(ctx, func(ctx context.Context) (err error) {
		if c, err = d.store.AddClass(ctx, c); err != nil {
			return err
		}
		return d.audit(ctx, who, RunClass, fmt.Sprintf("class %d", c.ID), fmt.Sprintf("%d people at %d places, %d s", len(k.Problem.Patients), len(k.Problem.Places), k.Timetable.Span))
	})
	return c, err
}

// heldClass is a class as it stands, read.
type heldClass struct {
	store.Class
	*inClass
	gym    *class.Gym
	begins time.Time
}

func (d *Desk) classOf(ctx context.Context, c store.Class) (*heldClass, error) {
	h := &heldClass{Class: c, inClass: &inClass{}}
	if err := json.Unmarshal([]byte(c.Timetable), h.inClass); err != nil {
		return nil, fmt.Errorf("reading class %d: %w", c.ID, err)
	}
	limits, err := d.Protocol(ctx)
	if err != nil {
		return nil, err
	}
	read, faults := class.Read(className, []byte(c.Text), limits, nil)
	if read == nil {
		return nil, fmt.Errorf("class %d: %w", c.ID, Faulty{faults})
	}
	pl, faults := plan.Read(className, []byte(h.Plan), limits)
	if pl == nil {
		return nil, fmt.Errorf("the plan of class %d: %w", c.ID, Faulty{faults})
	}
	h.gym = &class.Gym{Class: read.Of(pl), Problem: h.Problem, Stays: h.Stays}
	zone, err := d.Zone(ctx)
	if err != nil {
		return nil, err
	}
	h.begins = dayIn(c.Day, zone).Add(time.Duration(read.Begins.Minutes()) * time.Minute)
	return h, nil
}

// since is seconds since the class began.
func (h *heldClass) since(t time.Time) int { return int(t.Sub(h.begins) / time.Second) }

// Class is a class with its timetable and how far it is (RunClass).
func (d *Desk) Class(ctx context.Context, who Actor, id int64) (*ClassView, error) {
	if err := who.check(RunClass); err != nil {
		return nil, err
	}
	h, err := d.classWith(ctx, id)
	if err != nil {
		return nil, err
	}
	v := &ClassView{Class: h.Class, Gym: h.gym, Problem: h.Problem, Timetable: h.inClass.Timetable, Begins: h.begins,
		Now: h.since(d.Time()), Loaded: h.Loaded, Notes: h.Notes}
	for _, p := range h.Problem.Places {
		v.Places = append(v.Places, p.Name)
	}
	return v, nil
}

func (d *Desk) classWith(ctx context.Context, id int64) (*heldClass, error) {
	c, err := d.store.Class(ctx, id)
	if err != nil {
		return nil, notFound(err, "class %d", id)
	}
	return d.classOf(ctx, c)
}

// LoadClass sends every station of a class its plan (RunClass): all or none.
func (d *Desk) LoadClass(ctx context.Context, who Actor, id int64) (sent []store.StationPlan, err error) {
	if err := who.check(RunClass); err != nil {
		return nil, err
	}
	err = d.change(ctx, func(ctx context.Context) error {
		h, err := d.classWith(ctx, id)
		if err != nil {
			return err
		}
		for _, tag := range h.gym.Tags { // who was held or changed since
			p, err := d.prescribedFor(ctx, who, tag, h.Day)
			if err != nil {
				return err
			}
			if err := unchanged(h.gym.Plan, []prescribed{p}); err != nil {
				return err
			}
		}
		for place := range h.gym.Places {
			sp, err := d.sendPlace(ctx, who, h, place)
			if err != nil {
				return err
			}
			if sp != nil {
				sent = append(sent, *sp)
			}
		}
		h.Loaded = true
		return d.saveClass(ctx, h)
	})
	if err == nil {
		for _, sp := range sent {
			d.planSent(sp)
		}
	}
	return sent, err
}

// sendPlace sends one station of a class its plan; nil where nobody comes.
func (d *Desk) sendPlace(ctx context.Context, who Actor, h *heldClass, place int) (*store.StationPlan, error) {
	pl := h.gym.PlanFor(h.inClass.Timetable, place)
	if len(pl.Patients) == 0 {
		return nil, nil
	}
	st, err := d.stationNamed(ctx, h.gym.Places[place].Name)
	if err != nil {
		return nil, err
	}
	sp, err := d.send(ctx, who, st, pl)
	if err != nil {
		return nil, err
	}
	h.Orders[place] = pl.Tags()
	return &sp, nil
}

func (d *Desk) saveClass(ctx context.Context, h *heldClass) error {
	text, err := json.Marshal(h.inClass)
	if err != nil {
		return err
	}
	return d.store.SetTimetable(ctx, h.ID, string(text))
}

// loadedClasses are the classes of a day that stations have.
func (d *Desk) loadedClasses(ctx context.Context, day coach.Day) ([]*heldClass, error) {
	all, err := d.store.Classes(ctx, day, day)
	if err != nil {
		return nil, err
	}
	var out []*heldClass
	for _, c := range all {
		h, err := d.classOf(ctx, c)
		if err == nil && h.Loaded {
			out = append(out, h)
		}
		if err != nil { // a class that can't be read any more sends nobody anywhere
			d.log.Error("a class can't be read", "class", c.ID, "error", err)
		}
	}
	return out, nil
}

// nextPlaces are where those go on to who are at a station, by the timetables
// as they stand now.
func nextPlaces(classes []*heldClass, st store.Station) []link.Next {
	var out []link.Next
	for _, h := range classes {
		place := slices.IndexFunc(h.gym.Places, func(p class.Place) bool { return p.Name == st.Name })
		if place < 0 {
			continue
		}
		for j, who := range h.Problem.Patients {
			if where, at, there := h.gym.Onward(h.inClass.Timetable, j, place); there && where != "" && !h.Left[who.Tag] {
				out = append(out, link.Next{Tag: who.Tag, Place: where, At: at})
			}
		}
	}
	return out
}

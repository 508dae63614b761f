package main

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/clinic"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
)

// threeItems is a plan for the days from a day on, each exercise in the middle
// of what it may be.
func threeItems(from coach.Day) string {
	return fmt.Sprintf(`format = "day-plan/1"
day = %s
until = %s
clinic = "Quayside Heart Health"
unit = "kg"
[pace]
rest = 30.0
[[patient]]
tag = "K4"
warm_up = 300
cool_down = 300
[[patient.item]]
exercise = "biceps-curl"
reps = 10
load = "4 kg"
[[patient.item]]
exercise = "lateral-raise"
reps = 10
load = "2 kg"
[[patient.item]]
exercise = "heel-raise"
reps = 10
load = "body"
`, from, from.AddDays(14))
}

// visited lets K4 have been here some days ago, with five or more left in every
// exercise. No clock of a real program can be set, so this one day is gone
// through in this process: the desk's own code at a clock that stands then, the
// session's own code, and a log as a station numbers, dates and chains it.
func (h *house) visited(daysAgo int) {
	t, ctx := h.t.(*testing.T), context.Background()
	s, err := store.Open(ctx, h.data)
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	clock, random := &clinic.Clock{}, rand.New(rand.NewPCG(1, 0))
	then := time.Now().AddDate(0, 0, -daysAgo)
	clock.Set(then)
	d := desk.New(desk.Config{Alone: true, Store: s, Now: clock.Now, Fingerprint: strings.Repeat("ab", 32)})
	admin, supervisor := desk.Actor{Name: "P. Amsel", Role: store.Admin}, desk.Actor{Name: "R. Okafor", Role: store.Supervisor}
	_, err = d.ChangeClinic(ctx, admin, func(c *desk.Clinic) error {
		c.Name, c.Owned = "Quayside Heart Health", "2, 2.2, 4, 4.4 kg"
		return nil
	})
	require.NoError(t, err)
	today, err := d.Today(ctx)
	require.NoError(t, err)
	_, err = d.AddPatient(ctx, supervisor, store.Patient{Tag: "K4", Name: "Ada Holm"})
	require.NoError(t, err)
	rx, checked, err := d.Draft(ctx, supervisor, "K4", threeItems(today))
	require.NoError(t, err)
	_, err = d.Approve(ctx, supervisor, rx.ID, checked.Plan.Fingerprint())
	require.NoError(t, err)

	code, _, _, err := d.Code(ctx, admin, "Bay 1")
	require.NoError(t, err)
	key := strings.Repeat("cd", 32)
	_, err = d.Link().Enrol(ctx, key, "192.0.2.7", func(c string) bool { return c == code })
	require.NoError(t, err)
	bay, err := d.Link().Station(ctx, key)
	require.NoError(t, err)
	sent, err := d.Load(ctx, supervisor, "Bay 1", today, "K4")
	require.NoError(t, err)
	pl, faults := plan.Read("plan.toml", []byte(sent.Text), protocol.Default())
	require.NotNil(t, pl, "%v", faults)
	prog, err := pl.Resolve("K4", today)
	require.NoError(t, err)
	log := clinic.NewDeviceLog(random)
	records, err := log.Boot(then)
	require.NoError(t, err)
	did, err := log.Add(log.Session(), then, coached(t, &prog, coach.SessionStartData{Plan: pl.Fingerprint(), Speed: "1"}, coach.Plus)...)
	require.NoError(t, err)
	records = append(records, did...)
	clock.Set(then.Add(time.Hour))
	mark, err := d.Link().Append(ctx, bay, link.Batch{Epoch: records[0].Epoch, Records: records})
	require.NoError(t, err)
	require.Equal(t, records[len(records)-1].Seq, mark.Seq)
	_, err = d.Empty(ctx, supervisor, "Bay 1", today)
	require.NoError(t, err)
}

// exercise is a person at the real station who is well and has plenty left: tap
// where the station waits until they are ready, plus wherever it asks, until an
// entry of a kind has come so many times. It gives the doses the station
// announced, by exercise.
func (w *wall) exercise(until coach.EntryKind, times int) map[string]coach.Dose {
	w.h.t.Helper()
	told, ready := map[string]coach.Dose{}, true
	w.wait(string(until), func() bool {
		records, err := w.reader.After(w.at, 1000)
		require.NoError(w.h.t, err)
		for _, r := range records {
			w.at = r.Position
			var e coach.Entry
			require.NoError(w.h.t, json.Unmarshal(r.Line, &e))
			if e.Kind == coach.EntrySessionStart || e.Kind == coach.EntrySetStart {
				ready = false
			}
			if d, begins := e.Data.(*coach.ItemStartData); begins {
				told[e.Exercise], ready = coach.Dose{Load: d.Load, Reps: d.Reps, Sets: d.Sets, Stage: d.Stage}, true
			}
			if e.Kind == until {
				times--
			}
		}
		switch {
		case times == 0:
		case ready:
			w.press("tap")
		default:
			w.press("plus")
		}
		return times == 0
	})
	return told
}

// holds is the plan the station keeps of the desk, its doses by exercise.
func (w *wall) holds() (version int64, doses map[string]coach.Dose) {
	kept, err := link.OpenKeptPlan(w.data)
	require.NoError(w.h.t, err)
	doses = map[string]coach.Dose{}
	got := kept.Plan()
	if got.Version == 0 {
		return 0, doses
	}
	pl, faults := plan.Read("plan.toml", []byte(got.Text), protocol.Default())
	require.NotNil(w.h.t, pl, "%v", faults)
	for _, it := range pl.Patients[0].Items {
		doses[it.Exercise] = it.Dose
	}
	return int64(got.Version), doses
}

// A dose that rises, the whole way round: a session some days ago and one today
// at the real station, both with plenty left; the proposals of it accepted,
// changed, declined and taken back on the real page; the plan drafted of them
// approved and loaded there; and what the station then has and says is exactly
// what was decided.
func TestADoseRisesTheWholeWayRound(t *testing.T) {
	h := newHouse(t)
	h.run("three plain words here\n", "desk", "user", "add", "--data", h.data, "--name", "R. Okafor", "--role", "supervisor", "--password-stdin")
	h.visited(4)
	h.serve()
	w := h.mount("Bay 3", 80)
	w.start()
	b := h.look()
	b.login("R. Okafor", "three plain words here")
	b.load("K4", "Bay 3")
	b.says("on the station")
	begun := w.exercise(coach.EntrySessionEnd, 1)
	version, has := w.holds()
	assert.Equal(t, begun, has)
	wait(t, "the whole log at the desk", func() bool { return countKind(h.entries(), "session_end") == 2 })

	b.open("/review/K4")
	b.says("Biceps curl: heavier")
	b.tapIn("#p0", "It was watched in the newest session")
	b.says("watched Biceps curl in that session")
	b.tapIn("#p0", "Accept")
	b.says("Biceps curl: accepted by R. Okafor.")
	b.tapIn("#p1", "Accept")
	b.says("Lateral raise: accepted by R. Okafor.")
	b.tapIn("#decided li:nth-of-type(2)", "Undo")
	b.says("Undone: the proposal waits again.")
	b.tapIn("#p1", "Something else")
	b.fill(`[name="p1.load"]`, "2 kg")
	b.fill(`[name="p1.reps"]`, "11")
	b.fill(`[name="p1.changed-why"]`, "the shoulder: one more is enough")
	b.tapIn("#p1", "Do this instead")
	b.says("Lateral raise: changed by R. Okafor.")
	b.tapIn("#p2", "Decline")
	b.fill(`[name="p2.declined-why"]`, "the calf is sore")
	b.tapIn("#p2", "Decline: it stays as it is")
	b.says("Heel raise: declined by R. Okafor.")
	b.tap("Draft the next plan")
	b.says("version 2")
	b.tap("Look, and approve")
	b.tap("every exercise, dose and warning above")
	b.tap("Approve as R. Okafor")
	b.says("Load it on a station")
	b.load("K4", "Bay 3")

	want := maps.Clone(begun)
	curl, raise := want["biceps-curl"], want["lateral-raise"]
	var err error
	curl.Load, err = coach.ParseLoad("4.4 kg")
	require.NoError(t, err)
	raise.Reps = 11
	want["biceps-curl"], want["lateral-raise"] = curl, raise
	wait(t, "the new plan on the station", func() bool { newer, _ := w.holds(); return newer > version })
	_, has = w.holds()
	assert.Equal(t, want, has)
	assert.Equal(t, want, w.exercise(coach.EntryItemStart, len(want)))
	w.halt()
	h.stop()
}

// load loads a patient's approved plan on a station, on the day's page.
func (b *tab) load(tag, station string) {
	b.h.t.Helper()
	b.open("/day")
	b.fill("#to-"+tag, station)
	b.tap("Load what is chosen")
	b.says("Sent to " + station + " (" + tag + ")")
}

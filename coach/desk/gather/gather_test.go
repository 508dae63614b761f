package gather_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/clinic"
	"evenbell/coach/desk/gather"
	"evenbell/coach/desk/record"
	"evenbell/coach/desk/store"
	"evenbell/coach/journal"
	"evenbell/coach/link"
	"evenbell/coach/protocol"
)

var (
	ctx    = context.Background()
	monday = time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC)

	okafor = desk.Actor{ID: 1, Name: "R. Okafor", Role: store.Supervisor}
	lind   = desk.Actor{ID: 2, Name: "M. Lind", Role: store.Assistant}
	adair  = desk.Actor{ID: 3, Name: "P. Adair", Role: store.Admin}
)

// berta is a name that must not stand where only tags may.
const berta = "Berta Holmqvist-Unmistakable"

// ward is a desk with one patient and one station whose log is written here.
type ward struct {
	*desk.Desk
	t     *testing.T
	clock *clinic.Clock
	peer  link.Peer
	log   *clinic.DeviceLog
	sent  journal.Record // the last that the desk has
}

func newWard(t *testing.T) *ward {
	s, err := store.Open(ctx, t.TempDir())
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	w := &ward{t: t, clock: &clinic.Clock{}, log: clinic.NewDeviceLog(rand.New(rand.NewPCG(1, 2)))}
	w.clock.Set(monday)
	w.Desk = desk.New(desk.Config{Alone: true, Store: s, Now: w.clock.Now, Random: rand.NewChaCha8([32]byte{1}), Fingerprint: "the desk's key"})
	_, err = w.ChangeClinic(ctx, adair, func(v *desk.Clinic) error { v.Zone, v.Owned = "UTC", "1, 2, 3 kg"; return nil })
	require.NoError(t, err)
	_, err = w.AddPatient(ctx, okafor, store.Patient{Tag: "K4", Name: berta})
	require.NoError(t, err)
	code, _, _, err := w.Code(ctx, adair, "Bay 3")
	require.NoError(t, err)
	sum := sha256.Sum256([]byte("Bay 3"))
	key := hex.EncodeToString(sum[:])
	_, err = w.Link().Enrol(ctx, key, "192.0.2.7", func(given string) bool { return given == code })
	require.NoError(t, err)
	w.peer, err = w.Link().Station(ctx, key)
	require.NoError(t, err)
	records, err := w.log.Boot(monday.Add(-time.Hour))
	require.NoError(t, err)
	w.send(records)
	return w
}

func (w *ward) send(records []journal.Record) {
	last := records[len(records)-1]
	_, err := w.Link().Append(ctx, w.peer, link.Batch{Epoch: last.Epoch, After: w.sent.Seq, Before: w.sent.Hash, Records: records})
	require.NoError(w.t, err)
	w.sent = last
}

// session logs one of K4's that began at a moment, stopped after a minute.
func (w *ward) session(at time.Time) string {
	w.clock.Set(at.Add(10 * time.Minute))
	id := w.log.Session()
	second := coach.SessionRate.At(time.Second)
	entries := []coach.Entry{
		{Kind: coach.EntrySessionStart, Data: &coach.SessionStartData{Speed: "1", Part: coach.Whole}},
		{Kind: coach.EntryStop, Sample: 60 * second},
		{Kind: coach.EntrySessionEnd, Sample: 90 * second, Data: &coach.SessionEndData{Outcome: coach.Stopped}},
	}
	for i := range entries {
		entries[i].Tag = "K4"
	}
	records, err := w.log.Add(id, at, entries...)
	require.NoError(w.t, err)
	w.send(records)
	return id
}

// approved approves a plan of a load at a moment.
func (w *ward) approved(at time.Time, load string) store.Prescription {
	w.clock.Set(at)
	rx, checked, err := w.Draft(ctx, lind, "K4", fmt.Sprintf(`format = "day-plan/1"
day = 2026-03-01
until = 2026-04-30
clinic = "Quayside Heart Health"
unit = "kg"
[[patient]]
tag = "K4"
warm_up = 300
cool_down = 300
[[patient.item]]
exercise = "biceps-curl"
reps = 10
load = %q
`, load))
	require.NoError(w.t, err)
	require.NotNil(w.t, checked.Plan, "%v", checked.Faults)
	rx, err = w.Approve(ctx, okafor, rx.ID, checked.Fingerprint)
	require.NoError(w.t, err)
	return rx
}

func (w *ward) as(who desk.Actor) gather.From { return gather.From{Desk: w.Desk, Who: who} }

func (w *ward) incident(id string) record.Incident {
	in, err := w.as(okafor).Incident(ctx, id)
	require.NoError(w.t, err)
	return in
}

// trail counts the lines of the audit trail.
func (w *ward) trail() int {
	all, err := w.Store().AuditLines(ctx, store.AuditFilter{})
	require.NoError(w.t, err)
	return len(all)
}

func TestWhatIsNotThere(t *testing.T) {
	w := newWard(t)
	_, err := w.as(okafor).Note(ctx, "no such session")
	require.ErrorIs(t, err, desk.ErrNotFound)
	_, err = w.as(okafor).Incident(ctx, "no such session")
	require.ErrorIs(t, err, desk.ErrNotFound)
	_, err = w.as(okafor).Chart(ctx, "Z9")
	require.ErrorIs(t, err, desk.ErrNotFound)
}

// A role that may not have something gets none of it and leaves no line as if
// it had; one that may leaves a line before it gets anything.
func TestEachIsForTheRolesThatMay(t *testing.T) {
	w := newWard(t)
	w.approved(monday, "2 kg")
	id := w.session(monday.Add(time.Hour))
	for _, c := range []struct {
		what string
		ask  func(gather.From) error
		may  []desk.Actor
		not  []desk.Actor
	}{
		{"note", func(f gather.From) error { _, err := f.Note(ctx, id); return err }, []desk.Actor{okafor, lind}, []desk.Actor{adair}},
		{"incident", func(f gather.From) error { _, err := f.Incident(ctx, id); return err }, []desk.Actor{okafor, adair}, []desk.Actor{lind}},
		{"chart", func(f gather.From) error { _, err := f.Chart(ctx, "K4"); return err }, []desk.Actor{okafor}, []desk.Actor{lind, adair}},
		{"entries", func(f gather.From) error { _, err := f.Entries(ctx, gather.Choice{}); return err }, []desk.Actor{okafor, adair}, []desk.Actor{lind}},
		{"sessions", func(f gather.From) error { _, err := f.Sessions(ctx, gather.Choice{}); return err }, []desk.Actor{okafor, adair}, []desk.Actor{lind}},
	} {
		for _, who := range append(c.not, desk.Actor{}) {
			before := w.trail()
			require.ErrorIs(t, c.ask(w.as(who)), desk.ErrDenied, "%s by %q", c.what, who.Name)
			assert.Equal(t, before, w.trail(), "%s by %q", c.what, who.Name)
		}
		for _, who := range c.may {
			before := w.trail()
			require.NoError(t, c.ask(w.as(who)), "%s by %s", c.what, who.Name)
			assert.Greater(t, w.trail(), before, "%s by %s", c.what, who.Name)
		}
	}
}

// What is exported by tag has no name in it, and who may not see patients is
// told none.
func TestNoNameWhereOnlyTagsMayBe(t *testing.T) {
	w := newWard(t)
	w.approved(monday, "2 kg")
	id := w.session(monday.Add(time.Hour))
	in, err := w.as(adair).Incident(ctx, id)
	require.NoError(t, err)
	assert.Equal(t, "K4", in.Patient.Tag)
	var out bytes.Buffer
	report, err := in.Report()
	require.NoError(t, err)
	require.NoError(t, report.WriteJSON(&out))
	f := w.as(adair)
	head, err := f.Clinic(ctx)
	require.NoError(t, err)
	entries, err := f.Entries(ctx, gather.Choice{Tag: "K4"})
	require.NoError(t, err)
	sessions, err := f.Sessions(ctx, gather.Choice{})
	require.NoError(t, err)
	for _, format := range []record.Format{record.CSV, record.JSONL} {
		require.NoError(t, report.Write(&out, format))
		require.NoError(t, record.WriteEntries(&out, format, head, entries))
		require.NoError(t, record.WriteSessions(&out, format, head, protocol.Default(), sessions))
		require.NoError(t, record.WriteSets(&out, format, head, sessions))
	}
	assert.Contains(t, out.String(), "K4")
	for part := range strings.FieldsFuncSeq(berta, func(r rune) bool { return r == ' ' || r == '-' }) {
		assert.NotContains(t, out.String(), part)
	}
	assert.Equal(t, berta, w.incident(id).Patient.Name, "a supervisor knows whose it is")

	// A tag that is nobody's any more is a patient with a tag alone.
	records, err := w.log.Add("s-stranger", monday.Add(3*time.Hour), coach.Entry{Kind: coach.EntrySessionStart, Tag: "Z9", Data: &coach.SessionStartData{Speed: "1"}})
	require.NoError(t, err)
	w.send(records)
	assert.Equal(t, store.Patient{Tag: "Z9"}, w.incident("s-stranger").Patient)
}

// A session is told with the plan and the protocol that were in force when it
// began, whatever came after.
func TestWhatWasInForceThen(t *testing.T) {
	w := newWard(t)
	before := w.session(monday.Add(-2 * time.Hour))
	first := w.approved(monday, "1 kg")
	during := w.session(monday.Add(time.Hour))
	w.clock.Set(monday.Add(2 * time.Hour))
	_, err := w.WriteProtocol(ctx, adair, strings.Replace(string(protocol.Default().TOML()), "rest-floor\"\nvalue = 30", "rest-floor\"\nvalue = 45", 1))
	require.NoError(t, err)
	require.NoError(t, w.SignProtocol(ctx, okafor, 1))
	second := w.approved(monday.Add(3*time.Hour), "2 kg")
	after := w.session(monday.Add(4 * time.Hour))
	_, _, err = w.Draft(ctx, lind, "K4", second.Text) // a draft is in force for nobody
	require.NoError(t, err)
	require.NoError(t, w.Withdraw(ctx, okafor, second.ID))

	assert.Empty(t, w.incident(before).Approved, "nothing was approved yet")
	in := w.incident(during)
	require.Len(t, in.Approved, 1)
	assert.Equal(t, first.ID, in.Approved[0].ID)
	assert.Equal(t, "R. Okafor", in.Approved[0].Prescription.Approved)
	assert.Equal(t, protocol.Default().Fingerprint(), in.Approved[0].Seen.Print)
	assert.Nil(t, in.Protocol, "the built-in one")
	assert.Equal(t, 30, in.Limits.Int(protocol.RestFloor))
	in = w.incident(after)
	require.Len(t, in.Approved, 1)
	assert.Equal(t, second.ID, in.Approved[0].ID, "taken back only after the session")
	require.NotNil(t, in.Protocol)
	assert.Equal(t, int64(1), in.Protocol.Version)
	assert.Equal(t, 45, in.Limits.Int(protocol.RestFloor))

	note, err := w.as(lind).Note(ctx, during)
	require.NoError(t, err)
	require.Len(t, note.Sessions, 1)
	assert.Equal(t, first.ID, note.Sessions[0].Under)
	require.Len(t, note.Planned, 1)
	assert.Equal(t, "1 kg", note.Planned[0].Dose.Load.String())

	chart, err := w.as(okafor).Chart(ctx, "K4")
	require.NoError(t, err)
	under := map[string]int64{}
	for _, s := range chart.Sessions {
		under[s.ID] = s.Under
	}
	assert.Equal(t, map[string]int64{before: 0, during: first.ID, after: second.ID}, under)
	assert.Len(t, chart.Prescriptions, 3, "the whole record has every version")
}

// Who was on duty is who had logged in and not out again, for as long as a
// login lasts.
func TestWhoWasOnDuty(t *testing.T) {
	w := newWard(t)
	_, err := w.Store().AddStaff(ctx, store.Staff{Name: "M. Lind", Role: store.Assistant, Password: "none that opens anything"})
	require.NoError(t, err)
	began := monday.Add(time.Hour)
	log := func(at time.Time, by, action string) {
		require.NoError(t, w.Store().Audit(ctx, store.AuditLine{At: at, By: by, Action: action}))
	}
	log(began.Add(-13*time.Hour), "Forgot", desk.AuditLogin)
	log(began.Add(-3*time.Hour), "Left", desk.AuditLogin)
	log(began.Add(-2*time.Hour), "M. Lind", desk.AuditLogin)
	log(began.Add(-time.Hour), "Left", desk.AuditLogout)
	log(began.Add(30*time.Second), "Came", desk.AuditLogin)
	log(began.Add(40*time.Second), "M. Lind", desk.AuditLogout)
	id := w.session(began)
	log(began.Add(5*time.Minute), "Late", desk.AuditLogin)
	assert.Equal(t, []record.Duty{
		{Name: "M. Lind", Role: store.Assistant, From: began.Add(-2 * time.Hour), To: began.Add(40 * time.Second)},
		{Name: "Came", From: began.Add(30 * time.Second)},
	}, w.incident(id).OnDuty)
}

// The log of an incident goes up to the next session, and begins where the
// chain can be checked.
func TestAnIncidentsLogCanBeChecked(t *testing.T) {
	w := newWard(t)
	w.session(monday)
	id := w.session(monday.Add(time.Hour))
	w.session(monday.Add(2 * time.Hour))
	in := w.incident(id)
	require.Len(t, in.Entries, 3)
	for _, e := range in.Entries {
		assert.Equal(t, id, e.Session)
	}
	require.Len(t, in.Attentions, 1)
	require.Len(t, in.Holds, 1)
	report, err := in.Report()
	require.NoError(t, err)
	assert.True(t, report.ChainHolds)
	in.Entries[1].Line = bytes.Replace(in.Entries[1].Line, []byte("stop"), []byte("hold"), 1)
	report, err = in.Report()
	require.NoError(t, err)
	assert.False(t, report.ChainHolds)
}

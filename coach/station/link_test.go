package station_test

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/link"
	"evenbell/coach/link/linktest"
	"evenbell/hardware"
)

// bay is a device at a desk.
type bay struct {
	*device
	desk   *linktest.Desk
	server *linktest.Server
	id     *link.Identity
	starts int
}

// start switches the station on.
func (b *bay) start() { b.starts++; b.device.start() }

// newBay is a device that a desk has let in, and to which it has sent a plan.
func newBay(t *testing.T, speed float64) *bay {
	t.Helper()
	d := newDevice(t, "")
	desk := linktest.NewDesk()
	server := linktest.Serve(t, desk)
	id, err := link.Enrol(context.Background(), server.URL(), desk.Code("Bay 3"), d.cfg.Data)
	require.NoError(t, err)
	d.cfg.DeskURL, d.cfg.Speed = server.URL(), speed
	b := &bay{device: d, desk: desk, server: server, id: id}
	b.send(1, planText(nil))
	return b
}

func planText(change func(string) string) string {
	text := strings.Replace(shortPlan, "DAY", string(coach.DayOf(time.Now().UTC()))+"\nuntil = "+string(coach.DayOf(time.Now().UTC()).AddDays(1)), 1)
	if change != nil {
		text = change(text)
	}
	return text
}

func (b *bay) send(version int64, text string) {
	b.desk.Send(1, link.Plan{Version: version, Text: text})
}

// until waits for something at the desk or in the log.
func (b *bay) until(what string, done func() bool) {
	b.t.Helper()
	for end := time.Now().Add(patience); !done(); time.Sleep(10 * time.Millisecond) {
		if time.Now().After(end) {
			s, _ := b.desk.Latest(1)
			b.t.Fatalf("it never came to that: %s; the station says %+v", what, s)
		}
	}
}

func (b *bay) status() link.Status { s, _ := b.desk.Latest(1); return s }

// taken is the plan that the station coaches by.
func (b *bay) taken(version int64) {
	b.t.Helper()
	b.until("the plan is taken", func() bool { return b.status().Plan.Taken == version })
}

// newest is the newest entry of a kind at the station.
func (b *bay) newest(k coach.EntryKind) coach.Entry {
	es := b.entries()
	for i := len(es) - 1; i >= 0; i-- {
		if es[i].Kind == k {
			return es[i]
		}
	}
	return coach.Entry{}
}

func TestStationTakesItsPlanFromTheDesk(t *testing.T) {
	t.Parallel()
	b := newBay(t, 300)
	b.send(1, planText(func(s string) string {
		before, after, _ := strings.Cut(s, "[approval]")
		_, rest, _ := strings.Cut(after, "[[patient]]")
		return before + "[[patient]]" + rest
	}))
	b.start()
	b.until("a plan that nobody approved is refused", func() bool { return b.status().Plan.Refused == 1 })
	assert.Contains(t, b.status().Plan.Why, "approved")
	assert.Zero(t, b.status().Plan.Taken)
	b.box.Press(hardware.Tap, hardware.Now())
	b.send(2, planText(nil))
	b.taken(2)
	assert.Zero(t, count(b.entries(), coach.EntrySessionStart))

	// A new plan in the middle of a session waits for its end.
	b.press(has(coach.EntryRep), hardware.Tap, hardware.Plus)
	b.until("the session is told of", func() bool { return b.status().Session != nil && b.status().Session.Tag == "K4" })
	b.send(3, planText(func(s string) string { return strings.ReplaceAll(s, "reps = 4", "reps = 5") }))
	b.until("the plan is delivered", func() bool { return b.status().Plan.Delivered == 3 })
	es := b.press(has(coach.EntrySessionEnd), hardware.Tap, hardware.Plus)
	for _, e := range es {
		if d, ok := e.Data.(*coach.ItemStartData); ok {
			assert.Equal(t, 4, d.Reps, "one session, one plan")
		}
	}
	b.taken(3)
	require.NoError(t, b.stop())

	// The desk gone, the plan is still here, also after a power cut.
	b.server.Kill()
	b.start()
	b.press(func(es []coach.Entry) bool { return count(es, coach.EntrySessionStart) == 2 }, hardware.Tap, hardware.Plus)
	require.NoError(t, b.stop())
	b.verify()
}

func TestAStopReachesTheDeskAndHoldsTheTag(t *testing.T) {
	t.Parallel()
	b := newBay(t, 300)
	b.start()
	b.taken(1)
	b.press(has(coach.EntryRep), hardware.Tap, hardware.Plus)
	b.press(has(coach.EntryStop), hardware.Stop)
	stop := b.newest(coach.EntryStop)
	at := link.Position{Epoch: stop.Epoch, Seq: stop.Seq}
	b.until("the stop is at the desk", func() bool {
		return slices.ContainsFunc(b.desk.Urgent(), func(r linktest.Raised) bool { return r.Entry.Seq == at.Seq && r.Entry.Kind == coach.EntryStop })
	})
	b.until("it is locked and held", func() bool {
		s, last := b.status(), b.newest(coach.EntryStop)
		return s.Locked != nil && s.Locked.Seq == last.Seq && slices.Equal(s.Held, []string{"K4"})
	})

	// Help is told of once somebody goes; the log says when.
	last := b.newest(coach.EntryStop)
	newest := link.Position{Epoch: last.Epoch, Seq: last.Seq}
	b.desk.Tell(1, func(s *link.State) { s.Help = &link.Help{For: newest, By: "A. Lind"} })
	b.until("help is told of", func() bool { return count(b.entries(), coach.EntryHelp) == 1 })
	help := b.newest(coach.EntryHelp).Data.(*coach.HelpData)
	assert.Equal(t, coach.HelpData{By: "A. Lind", Epoch: newest.Epoch, Seq: newest.Seq}, *help)

	// A release for an older stop does nothing; for the newest it frees the
	// box, and only the box.
	b.desk.Tell(1, func(s *link.State) {
		s.Release = &link.Release{Stop: link.Position{Epoch: at.Epoch, Seq: at.Seq - 1}, By: "A. Lind"}
	})
	time.Sleep(200 * time.Millisecond)
	require.Zero(t, count(b.entries(), coach.EntryRelease))
	b.desk.Tell(1, func(s *link.State) { s.Release = &link.Release{Stop: newest, By: "A. Lind"} })
	b.until("it is released", func() bool { return count(b.entries(), coach.EntryRelease) == 1 })
	assert.Equal(t, "A. Lind", b.newest(coach.EntryRelease).Data.(*coach.ReleaseData).By)
	before := count(b.entries(), coach.EntryPress)
	b.press(func(es []coach.Entry) bool { return count(es, coach.EntryPress) > before+20 }, hardware.Tap)
	require.Equal(t, 1, count(b.entries(), coach.EntrySessionStart), "a held tag is coached nowhere")
	require.NoError(t, b.stop())

	// A power cut and a new plan change nothing of that; a supervisor does.
	b.send(2, planText(nil))
	b.start()
	b.taken(2)
	before = count(b.entries(), coach.EntryPress)
	b.press(func(es []coach.Entry) bool { return count(es, coach.EntryPress) > before+20 }, hardware.Tap)
	require.Equal(t, 1, count(b.entries(), coach.EntrySessionStart))
	raised := b.desk.Urgent()
	b.desk.Tell(1, func(s *link.State) {
		for i, r := range raised {
			if _, holds := link.HoldReason(r.Entry); holds {
				s.Clears = append(s.Clears, link.Clear{ID: int64(i + 1), Tag: "K4", By: "R. Okafor", Own: &link.Position{Epoch: r.Entry.Epoch, Seq: r.Entry.Seq}})
			}
		}
	})
	b.until("it is cleared", func() bool { return len(b.status().Held) == 0 })
	assert.Equal(t, "R. Okafor", b.newest(coach.EntryClear).Data.(*coach.ClearData).By)
	b.press(func(es []coach.Entry) bool { return count(es, coach.EntrySessionStart) == 2 }, hardware.Tap, hardware.Plus)
	require.NoError(t, b.stop())
	b.verify()
}

// Where to go next may change while somebody is at work; what was learnt last
// is what is said.
func TestTheDeskSaysWhereToGoNext(t *testing.T) {
	t.Parallel()
	peer(t, "flite")
	b := newBay(t, 300)
	b.send(2, planText(func(s string) string {
		return strings.Replace(strings.Replace(s, "cool_down = 300\n", "", 1), "warm_up = 300", "part = \"first\"\nwarm_up = 300", 1)
	}))
	b.start()
	b.taken(2)
	b.press(has(coach.EntryRep), hardware.Tap, hardware.Plus)
	b.desk.Tell(1, func(s *link.State) {
		s.Next = []link.Next{{Tag: "P7", Place: "the mats"}, {Tag: "K4", Place: "the place by the window"}}
	})
	es := b.press(has(coach.EntrySessionEnd), hardware.Tap, hardware.Plus)
	require.NoError(t, b.stop())
	var said []string
	for _, e := range es {
		if d, ok := e.Data.(*coach.SaidData); ok && d.Phrase == coach.SayNext {
			said = append(said, d.Text)
		}
	}
	assert.Equal(t, []string{"Next, go to the place by the window."}, said)
}

func TestAHoldFromElsewhere(t *testing.T) {
	t.Parallel()
	b := newBay(t, 300)
	b.desk.Tell(1, func(s *link.State) { s.Holds = []link.Hold{{ID: 7, Tag: "K4", Reason: link.HeldStop}} })
	b.start()
	b.taken(1)
	b.until("the hold is here", func() bool { return len(b.status().Held) == 1 })
	require.NoError(t, b.stop())
	b.server.Kill() // and it stays without the desk
	b.start()
	b.press(func(es []coach.Entry) bool { return count(es, coach.EntryPress) > 20 }, hardware.Tap)
	require.Zero(t, count(b.entries(), coach.EntrySessionStart))
	b.server.Start(t)
	b.desk.Tell(1, func(s *link.State) { s.Holds = nil })
	b.until("it has ended", func() bool { return len(b.status().Held) == 0 })
	b.press(has(coach.EntrySessionStart), hardware.Tap)
	require.NoError(t, b.stop())
	assert.Equal(t, 1, count(b.entries(), coach.EntryHold))
	assert.Equal(t, 1, count(b.entries(), coach.EntryClear))
}

// awake waits until a locked station has said what it says when it is switched
// on.
func (b *bay) awake() {
	b.t.Helper()
	const said = 60 * coach.Samples(coach.SessionRate)
	b.press(func(es []coach.Entry) bool {
		last := es[len(es)-1]
		return count(es, coach.EntryStart) == b.starts && last.Epoch == b.newest(coach.EntryStart).Epoch && last.Kind == coach.EntryPress && last.Sample > said
	}, hardware.Tap)
}

// code presses a code, one press after the other.
func (b *bay) code(presses []coach.Button) {
	wrong, clears := count(b.entries(), coach.EntryWrongCode), count(b.entries(), coach.EntryClear)
	for _, p := range append([]coach.Button{coach.Hold}, presses...) {
		before := count(b.entries(), coach.EntryPress)
		b.box.Press(hardware.Control(p), hardware.Now())
		b.until("the press is in the log", func() bool { return count(b.entries(), coach.EntryPress) > before })
	}
	b.until("the code is judged", func() bool {
		return count(b.entries(), coach.EntryWrongCode) > wrong || count(b.entries(), coach.EntryClear) > clears
	})
}

// A home station without network is cleared by a code told over the telephone,
// once, and guessing gets nobody far.
func TestACodeToldByTelephone(t *testing.T) {
	t.Parallel()
	b := newBay(t, 20)
	b.cfg.Release = nil
	b.start()
	b.taken(1)
	b.press(has(coach.EntrySessionStart), hardware.Tap)
	b.press(has(coach.EntryStop), hardware.Stop)
	b.server.Kill()
	require.NoError(t, b.stop())
	b.start()                                        // locked, and nobody there
	good := link.TelephoneCode(b.id.Secret, "K4", 3) // two were told and never pressed
	other := link.TelephoneCode(b.id.Secret, "P7", 3)
	b.awake()
	b.code(other[:])
	require.Zero(t, count(b.entries(), coach.EntryRelease), "a code for somebody else clears nobody")
	b.code(good[:])
	require.Equal(t, 1, count(b.entries(), coach.EntryRelease))
	clear := b.newest(coach.EntryClear)
	assert.Equal(t, "K4", clear.Tag)
	assert.Equal(t, coach.ClearData{By: coach.ByTelephone, Counter: 3}, *clear.Data.(*coach.ClearData))
	b.press(func(es []coach.Entry) bool { return count(es, coach.EntrySessionStart) == 2 }, hardware.Tap)
	b.press(func(es []coach.Entry) bool { return count(es, coach.EntryStop) >= 2 }, hardware.Stop)
	require.NoError(t, b.stop())
	b.start()
	b.awake()
	for range 4 { // with the one before: five wrong ones
		b.code(good[:])
	}
	require.Equal(t, 1, count(b.entries(), coach.EntryClear), "used codes are good no more")
	require.Equal(t, 5, count(b.entries(), coach.EntryWrongCode))
	require.NoError(t, b.stop())
	b.start() // switching it off and on gives no more tries
	b.awake()
	next := link.TelephoneCode(b.id.Secret, "K4", 4)
	before := count(b.entries(), coach.EntryPress)
	for n, p := range append([]coach.Button{coach.Hold}, next[:]...) {
		b.box.Press(hardware.Control(p), hardware.Now())
		b.until("the press is in the log", func() bool { return count(b.entries(), coach.EntryPress) > before+n })
	}
	require.Equal(t, 1, count(b.entries(), coach.EntryClear))
	require.NoError(t, b.stop())
	b.verify()
}

func TestAStickInsteadOfANetwork(t *testing.T) {
	t.Parallel()
	b := newBay(t, 300)
	b.server.Kill()
	p := link.Plan{Version: 4, Text: planText(nil)}
	b.start()
	b.press(func(es []coach.Entry) bool { return count(es, coach.EntryPress) > 10 }, hardware.Tap)
	head := b.newest(coach.EntryPress)
	kept, err := link.OpenKeptPlan(b.cfg.Data)
	require.NoError(t, err)
	require.NoError(t, kept.TakeBundle(&link.DeskBundle{Made: time.Now(), Plan: p,
		State: link.State{Plan: p.Version, PlanHash: p.Hash(), Holds: []link.Hold{{ID: 1, Tag: "P7"}}},
		Marks: []link.Mark{{Epoch: head.Epoch, Seq: head.Seq}, {Epoch: strings.Repeat("0", 32), Seq: 5}}}))
	b.press(has(coach.EntryItemStart), hardware.Tap, hardware.Plus)
	assert.Equal(t, 1, count(b.entries(), coach.EntryHold))
	require.NoError(t, b.stop())
	r, err := journal.OpenReader(b.cfg.Data)
	require.NoError(t, err)
	defer r.Close()
	s, err := r.Unsent(1)
	require.NoError(t, err)
	assert.Equal(t, head.Seq, s.Seq, "what the desk has is acknowledged")
}

func TestALostLinkIsInTheLog(t *testing.T) {
	t.Parallel()
	b := newBay(t, 300)
	b.start()
	b.taken(1)
	b.server.Kill()
	b.until("it was lost", func() bool { return count(b.entries(), coach.EntryLink) == 2 })
	b.server.Start(t)
	b.until("it was found", func() bool { return count(b.entries(), coach.EntryLink) == 3 })
	d := b.newest(coach.EntryLink).Data.(*coach.LinkData)
	assert.Equal(t, "found", d.Desk)
	require.NotNil(t, d.GapS)
	assert.Positive(t, *d.GapS)
	require.NoError(t, b.stop())
}

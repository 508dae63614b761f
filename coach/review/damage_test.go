package review

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"evenbell/coach"
	"evenbell/coach/dose"
	"evenbell/coach/protocol"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// ready is a month in which curls come to a step up.
func ready() *diary {
	d := newDiary("e1", "K4")
	for i := range 8 {
		d.whole(fmt.Sprintf("s%d", i), at(3*i), curls(4000, 15, coach.ReserveMany))
	}
	return d
}

var curl = coach.Exercise{ID: "biceps-curl", Stages: []coach.Stage{{ID: "standing", Loads: []coach.LoadKind{coach.DumbbellLoad}}}}

func propose(t testing.TB, entries []coach.Entry) dose.Proposal {
	o, err := dose.ParseOwned("4, 4.4, 5 kg")
	require.NoError(t, err)
	log := Read(entries, nil).Of("K4")
	h := log.History(curl)
	h.Clearances = log.Clearances()
	got, err := dose.Propose(protocol.Default(), o, h, "2026-03-25")
	require.NoError(t, err)
	return got
}

func TestWholeLogRises(t *testing.T) {
	log := Read(ready().entries, nil)
	for _, s := range log.Sessions {
		require.False(t, s.Doubtful, s.Marks)
	}
	assert.Equal(t, dose.RuleReady, propose(t, ready().entries).Rule)
}

// The order of entries changes nothing but a mark.
func TestOutOfOrder(t *testing.T) {
	d := ready()
	want := Read(d.entries, nil)
	mixed := slices.Clone(d.entries)
	rand.New(rand.NewPCG(1, 1)).Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
	got := Read(mixed, nil)
	assert.Equal(t, want.Sessions, got.Sessions)
	assert.Equal(t, []Mark{"entries were out of order and have been sorted"}, got.Marks)
}

func TestTwice(t *testing.T) {
	d := ready()
	got := Read(append(slices.Clone(d.entries), d.entries...), nil)
	assert.Equal(t, Read(d.entries, nil).Sessions, got.Sessions)
	assert.Equal(t, []Mark{Mark(fmt.Sprintf("%d entries were there twice and count once", len(d.entries)))}, got.Marks)
}

// Without any one of its entries the last session is doubtful and nothing
// rises, wherever the hole is.
func TestEveryHoleIsSeen(t *testing.T) {
	d := ready()
	from := slices.IndexFunc(d.entries, func(e coach.Entry) bool { return e.Session == "s7" })
	for i := from; i < len(d.entries); i++ {
		got := Read(slices.Delete(slices.Clone(d.entries), i, i+1), nil)
		last := got.Sessions[len(got.Sessions)-1]
		require.True(t, last.Doubtful, "without entry %d, %s", i, d.entries[i].Kind)
		for _, it := range last.Items {
			require.NotEqual(t, dose.Complete, it.Result)
		}
		p := propose(t, slices.Delete(slices.Clone(d.entries), i, i+1))
		require.Equal(t, dose.Hold, p.Action, "without entry %d, %s: %s", i, d.entries[i].Kind, p.Rule)
	}
}

// A log cut off anywhere never says that what is missing was done.
func TestHalfMissing(t *testing.T) {
	d := ready()
	for n := len(d.entries) - 1; n > 0; n -= 7 {
		log := Read(d.entries[:n], nil)
		for _, s := range log.Sessions {
			if s.Outcome == "" {
				require.True(t, s.Doubtful)
				require.Contains(t, s.Marks, Mark("its end is missing"))
			}
		}
	}
}

// A power cut that the next epoch knows of is no doubt: what was led to its
// end before it counts. That the next epoch names the session makes no second.
func TestPowerCut(t *testing.T) {
	d := newDiary("e1", "K4").begin("s1", at(0)).do(curls(4000, 15, coach.ReserveMany))
	d.item, d.ex = 2, "dumbbell-row"
	d.log(coach.EntryItemStart, 0, 0, "", &coach.ItemStartData{Load: kg(4000), Reps: 10, Sets: 1, Stage: "bent", Sides: coach.BothSides})
	d.log(coach.EntrySetStart, 1, 0, coach.Both, nil)
	next := newDiary("e2", "K4")
	next.entries[0].Data = &coach.StartData{PreviousEpoch: "e1", PreviousSeq: d.seq}
	next.session = "s1"
	next.log(coach.EntryFault, 0, 0, coach.NoSide, &coach.FaultData{Part: coach.PartPower})

	sessions := Read(append(slices.Clone(d.entries), next.entries...), nil).Sessions
	require.Len(t, sessions, 1)
	s := sessions[0]
	assert.False(t, s.Doubtful)
	assert.Equal(t, []Mark{"cut off by a restart of the station"}, s.Marks)
	assert.Equal(t, dose.Complete, s.Items[0].Result)
	assert.Equal(t, dose.Cut, s.Items[1].Result)

	next.entries[0].Data = &coach.StartData{PreviousEpoch: "e1", PreviousSeq: d.seq + 1}
	s = Read(append(slices.Clone(d.entries), next.entries...), nil).Sessions[0]
	assert.True(t, s.Doubtful, "the epoch had one more entry, which is not here")
	assert.Equal(t, dose.Cut, s.Items[0].Result)
}

// Journals played offline all have the same epoch and session; in one file
// they are told apart by where their numbers begin anew.
func TestOfflineJournalsInOneFile(t *testing.T) {
	var all []coach.Entry
	for i := range 3 {
		all = append(all, newDiary("0", "K4").whole("offline", at(3*i), curls(4000, 15, coach.ReserveMany)).entries...)
	}
	log := Read(all, nil)
	require.Len(t, log.Sessions, 3)
	for i, s := range log.Sessions {
		assert.False(t, s.Doubtful, s.Marks)
		assert.Equal(t, at(3*i), s.Start)
	}
	assert.Contains(t, log.Marks, Mark("the numbers of one epoch begin anew 2 times; each part is read by itself"))
}

// One entry in two versions: nobody can say which happened.
func TestContradiction(t *testing.T) {
	d := ready()
	i := slices.IndexFunc(d.entries, func(e coach.Entry) bool { return e.Kind == coach.EntryEffort })
	other := d.entries[i]
	other.Data = &coach.EffortData{Reserve: coach.ReserveNone}
	log := Read(slices.Insert(slices.Clone(d.entries), i+1, other), nil)
	for _, s := range log.Sessions {
		assert.True(t, s.Doubtful)
	}
}

func TestOverlapping(t *testing.T) {
	a := newDiary("e1", "K4").whole("s1", at(0), curls(4000, 15, coach.ReserveMany))
	b := newDiary("e2", "K4").whole("s2", at(0).Add(5*time.Minute), curls(4000, 15, coach.ReserveMany))
	other := newDiary("e3", "M7").whole("s3", at(0), curls(4000, 15, coach.ReserveMany))
	log := Read(append(append(a.entries, b.entries...), other.entries...), nil)
	for _, s := range log.Sessions {
		assert.Equal(t, s.Tag == "K4", s.Doubtful, s.ID)
	}
	assert.Equal(t, []string{"K4", "M7"}, log.Tags())

	// Place after place is no overlap.
	b = newDiary("e2", "K4").whole("s2", at(0).Add(20*time.Minute), curls(4000, 15, coach.ReserveMany))
	for _, s := range Read(append(slices.Clone(a.entries), b.entries...), nil).Sessions {
		assert.False(t, s.Doubtful, s.Marks)
	}
}

// Without a trusted time a session is kept, marked and last, and nothing rises
// on it.
func TestNoClock(t *testing.T) {
	d := ready()
	d.noClock = true
	d.whole("s9", at(50), curls(4000, 15, coach.ReserveMany))
	log := Read(d.entries, nil)
	last := log.Sessions[len(log.Sessions)-1]
	assert.Equal(t, "s9", last.ID)
	assert.Empty(t, last.Day())
	assert.Equal(t, []Mark{"no trusted time"}, last.Marks)
	got := propose(t, d.entries)
	assert.Equal(t, dose.RuleSteady, got.Rule)
	assert.NotEmpty(t, got.Finding)
}

// Whatever is lost, doubled, mixed or torn, a proposal never asks for more
// than the whole log would.
func TestDamageNeverRaises(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2026))
	raised := 0
	for range 3000 {
		d := newDiary("e1", "K4")
		for i := range 4 + r.IntN(4) {
			p := curls(4000, 15, []coach.Reserve{coach.ReserveFew, coach.ReserveMany}[r.IntN(2)])
			d.begin(fmt.Sprintf("s%d", i), at(3*i))
			if r.IntN(8) == 0 {
				p.ended, p.led = coach.EndedStop, 3
				d.do(p).end(coach.Stopped)
				continue
			}
			d.do(p).end(coach.Completed)
		}
		whole := propose(t, d.entries)
		got := propose(t, damaged(r, d.entries))
		if got.Action == dose.Up {
			raised++
			require.Equal(t, dose.Up, whole.Action)
		}
	}
	require.NotZero(t, raised, "some damage is harmless, or this shows nothing")
}

// damaged is entries with a few lost in the last session, doubled or mixed.
func damaged(r *rand.Rand, entries []coach.Entry) []coach.Entry {
	out := slices.Clone(entries)
	for range r.IntN(4) {
		i := r.IntN(len(out))
		switch r.IntN(3) {
		case 0:
			out = append(out, out[i])
		case 1:
			if out[i].Session != "" {
				out = slices.Delete(out, i, i+1)
			}
		case 2:
			j := r.IntN(len(out))
			out[i], out[j] = out[j], out[i]
		}
	}
	return out
}

// Nothing a file can hold makes a review fall over, and reading it twice gives
// the same.
func FuzzRead(f *testing.F) {
	var lines []string
	for _, e := range ready().entries {
		b, err := json.Marshal(e)
		require.NoError(f, err)
		lines = append(lines, string(b))
	}
	f.Add(strings.Join(lines, "\n"))
	f.Add(`{"kind":"set_end","seq":1,"session":"s","data":null}` + "\n" + `{"kind":"rep","seq":1,"session":"s","item":-1,"set":99999999,"data":{"confirmed":true}}`)
	f.Add(`{"kind":"item_start","seq":9,"session":"s","item":1,"wall":"9999-12-31T23:59:59Z","data":{"sets":1000000000,"load":"body"}}`)
	f.Fuzz(func(t *testing.T, text string) {
		var entries []coach.Entry
		for _, line := range strings.Split(text, "\n") {
			var e coach.Entry
			if json.Unmarshal([]byte(line), &e) == nil {
				entries = append(entries, e)
			}
		}
		p := protocol.Default()
		log := Read(entries, nil)
		for _, tag := range log.Tags() {
			of := log.Of(tag)
			of.Findings(p, "2026-01-01", "2026-12-31")
			of.Trend(p, "biceps-curl")
			if h := of.History(curl); len(h.Sessions) > 0 {
				_, err := dose.Propose(p, dose.Owned{}, h, "2026-03-25")
				require.NoError(t, err)
			}
		}
		require.Equal(t, len(log.Sessions), len(Read(entries, nil).Sessions))
	})
}

// What a station logs of nobody's session in the middle of one, such as a hold
// that came down the link, takes a number and hides nothing.
func TestEntryOfNoSessionIsNotMissing(t *testing.T) {
	d := newDiary("e1", "K4").begin("s1", at(0))
	id := d.session
	d.session = ""
	d.log(coach.EntryHold, 0, 0, coach.NoSide, &coach.HoldData{ID: 7, Reason: "stop"})
	hold := len(d.entries) - 1
	d.session = id
	d.do(plan{ex: "biceps-curl", load: kg(4000), reps: 10, sets: 1, reserve: coach.ReserveFew}).end(coach.Completed)
	assert.False(t, Read(d.entries, nil).Sessions[0].Doubtful)

	without := append(append([]coach.Entry(nil), d.entries[:hold]...), d.entries[hold+1:]...)
	s := Read(without, nil).Sessions[0]
	assert.True(t, s.Doubtful, "nobody knows what stood there")
	assert.Contains(t, s.Marks, Mark("1 entry is missing"))
}

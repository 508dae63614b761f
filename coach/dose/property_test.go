package dose

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"evenbell/coach"
	"evenbell/coach/protocol"

	"github.com/stretchr/testify/require"
)

var answers = []coach.Reserve{coach.ReserveNone, coach.ReserveFew, coach.ReserveMany}

// anyHistory makes a random history of one exercise, some of it with trouble.
func anyHistory(r *rand.Rand, o Owned) History {
	h := History{Exercise: curl, Sides: coach.BothSides}
	loads := append(o.Loads(coach.DumbbellLoad), o.Loads(coach.BandLoad)...)
	if r.IntN(4) == 0 {
		h.Exercise, loads = rise, []coach.Load{coach.Body()}
	}
	if r.IntN(3) == 0 {
		h.Sides = coach.Alternating
	}
	d := coach.Dose{Load: loads[r.IntN(len(loads))], Reps: 6 + r.IntN(10), Sets: 1 + r.IntN(2), Stage: h.Exercise.Stages[0].ID}
	at := firstDay.Time().Add(9 * time.Hour)
	for i := range 2 + r.IntN(8) {
		at = at.Add(time.Duration(20+r.IntN(100)) * time.Hour)
		s := Session{At: at, Dose: d, Result: Complete, Worked: true, IDs: []string{fmt.Sprint(i)}, Reserve: answers[r.IntN(3)]}
		switch r.IntN(12) {
		case 0:
			s.Result = Short
		case 1:
			s.Result = Cut
		case 2:
			s.Reserve, s.Unanswered = "", true
		case 3:
			s.Result, s.Doubtful = Cut, true
		case 4:
			d.Load, d.Reps = loads[r.IntN(len(loads))], 6+r.IntN(10)
		}
		h.Sessions = append(h.Sessions, s)
	}
	if r.IntN(6) == 0 {
		h.Events = []Event{{Kind: StopEvent, At: at.Add(-time.Duration(r.IntN(300)) * time.Hour)}}
		if r.IntN(2) == 0 {
			h.Clearances = []Clearance{{"R. Okafor", at.Add(-time.Duration(r.IntN(100)) * time.Hour)}}
		}
	}
	if r.IntN(4) == 0 {
		h.Ceiling = Ceiling{Reps: 8 + r.IntN(8), Sets: 1 + r.IntN(2)}
		if d.Load.Kind() == coach.DumbbellLoad {
			h.Ceiling.Load = loads[r.IntN(len(o.dumbbells))]
		}
	}
	return h
}

func eachHistory(t *testing.T, n int, f func(t *testing.T, o Owned, h History, today coach.Day, got Proposal)) {
	o := owned(t, "0.5, 1, 1.5, 2, 2.2, 2.4, 3, 4, 4.4, 5 kg; band 1, 2, 3, 4")
	r := rand.New(rand.NewPCG(5, 2026))
	for range n {
		h := anyHistory(r, o)
		today := after(h.Sessions, r.IntN(40))
		got, err := Propose(protocol.Default(), o, h, today)
		require.NoError(t, err)
		f(t, o, h, today, got)
	}
}

// A proposal is owned or already in use, never over a ceiling, and never more
// than ten per cent up without saying so.
func TestCapsAreKept(t *testing.T) {
	p := protocol.Default()
	seen := map[Rule]int{}
	eachHistory(t, 20000, func(t *testing.T, o Owned, h History, _ coach.Day, got Proposal) {
		seen[got.Rule]++
		lifts := append(append(o.Loads(coach.DumbbellLoad), o.Loads(coach.BandLoad)...), got.From.Load)
		require.Contains(t, lifts, got.To.Load)
		require.False(t, overCeiling(got.To.Load, h.Ceiling), "%+v", got)
		require.LessOrEqual(t, got.To.Reps, max(15, got.From.Reps))
		if h.Ceiling.Reps > 0 {
			require.LessOrEqual(t, got.To.Reps, h.Ceiling.Reps)
			require.LessOrEqual(t, got.To.Sets, h.Ceiling.Sets)
		}
		if got.Action == Up && got.Rule != RuleBigStep {
			up := 100 * (got.To.Load.Grams() - got.From.Load.Grams()) / got.From.Load.Grams()
			require.LessOrEqual(t, up, p.Number(protocol.StepMost)+1e-9, "%+v", got)
		}
		if got.Rule == RuleBigStep {
			require.True(t, got.Observe)
			require.GreaterOrEqual(t, got.To.Reps, 6)
		}
		if got.Action == Reps && h.Sides == coach.Alternating {
			require.Zero(t, got.To.Reps%2)
		}
		require.NotEmpty(t, got.Reasons)
		require.NotEqual(t, got.Action != Hold, got.To == got.From, "%+v", got)
	})
	for _, rule := range []Rule{RuleSymptom, RuleAfterSymptom, RuleLongGap, RuleGap, RuleRevert, RuleShort, RuleShortOnce,
		RuleEarly, RuleReady, RuleMoreSets, RuleStage, RuleBuild, RuleSteady, RuleStuck, RuleBigStep, RuleBarred} {
		require.NotZero(t, seen[rule], "the random histories never reach %s", rule)
	}
}

// Nothing rises after an uncleared symptom, an unanswered effort or an
// incomplete log.
func TestNeverUpOnTrouble(t *testing.T) {
	eachHistory(t, 20000, func(t *testing.T, _ Owned, h History, _ coach.Day, got Proposal) {
		if compareDoses(h.Exercise.Stages, got.To, got.From) <= 0 {
			return
		}
		for _, e := range h.Events {
			require.NotEmpty(t, h.Clearances, "%+v", got)
			require.False(t, h.Clearances[0].At.Before(e.At), "%+v", got)
		}
		require.NotEmpty(t, got.Sessions)
		for _, s := range got.Sessions {
			require.False(t, s.Unanswered || s.Doubtful || s.Reserve == "", "%+v", got)
			require.Equal(t, Complete, s.Result)
		}
		for _, s := range merged(protocol.Default(), h.Sessions) {
			require.False(t, s.Doubtful && s.At.After(got.Sessions[0].At), "%+v", got)
		}
	})
}

// More repetitions left in one session never gives less: neither of the
// stages, nor of the load, nor of the sets, nor of the repetitions. The one
// exception is the rule barred: a person who is ready for a step that failed
// lately holds, where one who is not ready yet still builds repetitions.
func TestMoreReserveNeverGivesLess(t *testing.T) {
	compared := 0
	eachHistory(t, 20000, func(t *testing.T, o Owned, h History, today coach.Day, less Proposal) {
		for i, s := range h.Sessions {
			for _, better := range answers {
				if s.Reserve == "" || lower(s.Reserve, better) != s.Reserve || better == s.Reserve {
					continue
				}
				other := h
				other.Sessions = append([]Session(nil), h.Sessions...)
				other.Sessions[i].Reserve = better
				more, err := Propose(protocol.Default(), o, other, today)
				require.NoError(t, err)
				if more.Rule == RuleBarred {
					continue
				}
				compared++
				require.GreaterOrEqual(t, compareDoses(h.Exercise.Stages, more.To, less.To), 0,
					"%s with %s, %s with %s\n%+v\n%+v", s.Reserve, less.Rule, better, more.Rule, less, more)
			}
		}
	})
	require.Greater(t, compared, 10000)
}

// Approving every proposal, no dose is held for ever without a finding,
// whatever a person answers.
func TestNoDoseForEver(t *testing.T) {
	p := protocol.Default()
	o := owned(t, "1, 1.5, 2, 2.2, 3, 4 kg")
	r := rand.New(rand.NewPCG(6, 2026))
	for who := range 300 {
		lean := r.IntN(4) // each person leans to one answer, or to none
		h := History{Exercise: curl, Sides: coach.BothSides}
		d := coach.Dose{Load: o.dumbbells[r.IntN(6)], Reps: 10, Sets: 1, Stage: "standing"}
		silent := 0
		for visit := range 60 {
			s := Session{At: firstDay.AddDays(3 * visit).Time(), Dose: d, Result: Complete, Worked: true}
			if a := r.IntN(5); a < 3 && lean < 3 {
				s.Reserve = answers[lean]
			} else if a < 3 {
				s.Unanswered = true
			} else {
				s.Reserve = answers[r.IntN(3)]
			}
			h.Sessions = append(h.Sessions, s)
			got, err := Propose(p, o, h, after(h.Sessions, 1))
			require.NoError(t, err)
			if got.To != d || got.Finding != "" {
				silent = 0
			} else {
				silent++
			}
			require.Less(t, silent, p.Int(protocol.UnchangedSessions), "person %d, visit %d: %+v", who, visit, got)
			d = got.To
		}
	}
}

// The order in which sessions are given makes no difference.
func TestOrderOfSessions(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 2026))
	eachHistory(t, 2000, func(t *testing.T, o Owned, h History, today coach.Day, want Proposal) {
		mixed := h
		mixed.Sessions = append([]Session(nil), h.Sessions...)
		r.Shuffle(len(mixed.Sessions), func(i, j int) { mixed.Sessions[i], mixed.Sessions[j] = mixed.Sessions[j], mixed.Sessions[i] })
		got, err := Propose(protocol.Default(), o, mixed, today)
		require.NoError(t, err)
		require.Equal(t, want, got)
	})
}

func BenchmarkPropose(b *testing.B) {
	o := owned(b, "1, 1.5, 2, 2.5, 3, 4, 5 kg")
	h := anyHistory(rand.New(rand.NewPCG(8, 2026)), o)
	today := after(h.Sessions, 2)
	for b.Loop() {
		if _, err := Propose(protocol.Default(), o, h, today); err != nil {
			b.Fatal(err)
		}
	}
}

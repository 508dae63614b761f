package script

import (
	"maps"
	"slices"
	"strings"
	"time"

	"evenbell/coach"
)

// phrases calls f with every phrase a session can say: each id with each value
// of each slot it uses, the rest of its slots taken in turn.
func phrases(s *Script, ids map[string]coach.PhraseID, f func(coach.Phrase)) {
	loads, everywhere := testLoads(), f
	f = func(p coach.Phrase) {
		everywhere(p)
		if s.atHome[p.ID] != nil {
			p.AtHome = true
			everywhere(p)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(ids)) {
		id := ids[name]
		switch id {
		case coach.SayVolume:
			named(f, id, "louder", "softer", "loudest", "softest")
		case coach.SayEffort:
			named(f, id, string(coach.ReserveNone), string(coach.ReserveFew), string(coach.ReserveMany))
		case coach.SaySymptom:
			for _, sy := range coach.Symptoms {
				named(f, id, string(sy))
			}
		case coach.SayTrouble:
			for _, trouble := range coach.Troubles {
				named(f, id, string(trouble))
			}
		case coach.SayDone:
			named(f, id, "", "place", "cool-down")
		case coach.SayNext:
			named(f, id, "")
			for minutes := range 24 * 60 {
				f(coach.Phrase{ID: id, Name: "the place by the window", When: coach.WhenAt, N: minutes})
			}
			for minutes := range 61 {
				f(coach.Phrase{ID: id, Name: "the place by the window", When: coach.WhenSoon, Seconds: 60 * minutes})
			}
			f(coach.Phrase{ID: id, Name: "the place by the window", When: coach.WhenNow})
			f(coach.Phrase{ID: id, Name: "the place by the window"})
		case coach.SayNotToday:
			for _, r := range coach.Refusals {
				named(f, id, string(r))
			}
		case coach.SayNextSession:
			for n := 1; n <= 100; n++ {
				f(coach.Phrase{ID: id, N: n, Name: strings.ToLower(time.Weekday(n % 7).String())})
				f(coach.Phrase{ID: id, N: n})
			}
		case coach.SayRing:
			named(f, id, "020 912 0456", "112", "(01632) 960001")
		case coach.AskGoOn:
			numbered(f, coach.Phrase{ID: id, Exercise: "heel-raise", Name: "heron"}, 0, 1)
		case coach.SayEmergency, coach.SayIfWorse:
			named(f, id, "", "Ring Astrid.")
		case coach.SaySkip:
			named(f, id, "", "next")
		case coach.SayPaused:
			named(f, id, "", "plain", "warm-up")
		case coach.SayWelcome, coach.SayWelcomeOn:
			named(f, id, append(s.CallWords(), "", "K4", "Z0", "?")...)
		case coach.SayIntro:
			numbered(f, coach.Phrase{ID: id}, 1, coach.IntroLines)
		case coach.SayWarmUpTip, coach.SayCoolDownTip:
			numbered(f, coach.Phrase{ID: id}, 1, 4)
		case coach.SaySetUp, coach.SayCare, coach.SayOutAs, coach.SayVerb, coach.SayCountVerb:
			ofStages(s, f, id)
		case coach.SayExercise, coach.SayComingUp:
			for _, ex := range slices.Sorted(maps.Keys(s.exercises)) {
				for _, l := range loads {
					for hands := 1; hands <= 2; hands++ {
						f(coach.Phrase{ID: id, Exercise: ex, N: 1 + len(ex)%3, Of: 3, Load: l, Hands: hands})
					}
				}
			}
			f(coach.Phrase{ID: id, N: 1, Of: 1, Exercise: slices.Sorted(maps.Keys(s.exercises))[0]})
		case coach.SayHowMany:
			howManyPhrases(f)
		case coach.SayLoad, coach.SayLastTime, coach.SayNextSet, coach.SaySettle, coach.SaySetEnd:
			for n := range 101 {
				for i, l := range loads {
					f(coach.Phrase{ID: id, Load: l, Hands: 1 + i%2, N: n, Of: 1 + n%7})
				}
			}
		case coach.SaySide:
			for _, side := range []coach.Side{coach.Left, coach.Right, coach.Both} {
				numbered(f, coach.Phrase{ID: id, Side: side}, 1, 2)
			}
		default:
			for n := range 101 {
				f(coach.Phrase{ID: id, N: n, Seconds: n * 7})
			}
		}
	}
}

func testLoads() []coach.Load {
	loads := []coach.Load{coach.Body()}
	for n := 1; n <= 30; n++ {
		loads = append(loads, coach.Band(n))
	}
	for milli := int64(125); milli <= 60_000; milli += 125 {
		loads = append(loads, coach.Dumbbell(milli, coach.Kilogram), coach.Dumbbell(milli, coach.Pound))
	}
	return append(loads, coach.Dumbbell(999_999_999, coach.Kilogram), coach.Dumbbell(1, coach.Pound))
}

func named(f func(coach.Phrase), id coach.PhraseID, names ...string) {
	for _, n := range names {
		f(coach.Phrase{ID: id, Name: n})
	}
}

func numbered(f func(coach.Phrase), p coach.Phrase, from, to int) {
	for p.N = from; p.N <= to; p.N++ {
		f(p)
	}
}

func ofStages(s *Script, f func(coach.Phrase), id coach.PhraseID) {
	for _, ex := range slices.Sorted(maps.Keys(s.exercises)) {
		for _, stage := range slices.Sorted(maps.Keys(s.exercises[ex].Stage)) {
			for i, phase := range []coach.Phase{coach.Lift, coach.Lower} {
				f(coach.Phrase{ID: id, Exercise: ex, Stage: stage, Phase: phase, N: 10 + i})
			}
		}
	}
}

func howManyPhrases(f func(coach.Phrase)) {
	for _, sides := range []coach.Sides{"", coach.BothSides, coach.Alternating, coach.EachSide, coach.LeftOnly, coach.RightOnly} {
		for n := range 101 {
			for of := range 8 {
				f(coach.Phrase{ID: coach.SayHowMany, N: n, Of: of, Sides: sides})
			}
		}
	}
}

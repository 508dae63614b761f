package web

import (
	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
	"evenbell/coach/review"
)

// actionWords say what a proposal changes.
func actionWords(a dose.Action) string {
	words := map[dose.Action]string{dose.Up: "heavier", dose.Down: "less", dose.Reps: "other repetitions",
		dose.Sets: "another set", dose.Stages: "next stage", dose.Hold: "as it is"}
	if s, ok := words[a]; ok {
		return s
	}
	return string(a)
}

func answerWords(a store.Answer) string {
	return map[store.Answer]string{store.Accepted: "accepted", store.Changed: "changed", store.Declined: "declined"}[a]
}

// endWords say how a session ended.
func endWords(o coach.Outcome) string {
	return map[coach.Outcome]string{coach.Completed: "completed", coach.FinishedEarly: "ended early", coach.Stopped: "stopped",
		coach.Abandoned: "abandoned", coach.NotStarted: "not started", "": "end not in the log"}[o]
}

// leftWords say how many repetitions somebody had left.
func leftWords(r coach.Reserve) string {
	return map[coach.Reserve]string{coach.ReserveNone: "none or one left", coach.ReserveFew: "two to four left",
		coach.ReserveMany: "five or more left", "": "not answered"}[r]
}

// leftOf says how many repetitions somebody had left after a set. The question
// is put once, after the last side, so that a side before it has no answer.
func leftOf(it *review.Item, i int) string {
	set := it.Sets[i]
	if set.Reserve == "" && i+1 < len(it.Sets) && it.Sets[i+1].Number == set.Number {
		return "–"
	}
	return leftWords(set.Reserve)
}

// rankKind is the kind of state that shows how pressing a finding is.
func rankKind(rank int) string {
	switch rank {
	case 1:
		return "bad"
	case 2, 3:
		return "warn"
	}
	return "info"
}

// rankWords are what a finding is about.
func rankWords(rank int) string {
	switch rank {
	case 1:
		return "symptom"
	case 2:
		return "doubt"
	case 3:
		return "too much"
	case 4:
		return "manner"
	}
	return "attendance"
}

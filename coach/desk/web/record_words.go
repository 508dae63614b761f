package web

import (
	"fmt"
	"time"

	"evenbell/coach/desk/store"
)

// reasonWords say why somebody was called.
func reasonWords(r store.Reason) string {
	words := map[store.Reason]string{store.StopPressed: "stop", store.NotWell: "did not feel well", store.ClosingSymptom: "a symptom at the end",
		store.NoAnswer: "no answer", store.LostStation: "the station could not be heard", store.LogDamaged: "the log is damaged", store.PartFailed: "a part failed", store.Restored: "a backup was put back", store.PlanUnknown: "a plan this desk does not know"}
	if s, ok := words[r]; ok {
		return s
	}
	return string(r)
}

// roundSeconds is a length to the nearest second.
func roundSeconds(d time.Duration) string {
	return fmt.Sprintf("%d s", int(d.Round(time.Second)/time.Second))
}

// lengthWords is a length in minutes and seconds: "9 min 44 s".
func lengthWords(d time.Duration) string {
	d = d.Round(time.Second)
	switch m, s := int(d/time.Minute), int(d%time.Minute/time.Second); {
	case m == 0:
		return fmt.Sprintf("%d s", s)
	case s == 0:
		return fmt.Sprintf("%d min", m)
	default:
		return fmt.Sprintf("%d min %d s", m, s)
	}
}

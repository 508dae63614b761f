package main

import (
	"sync"
	"time"

	"evenbell/coach"
	"evenbell/coach/player"
	"evenbell/coach/station"
)

// timer tells how long sessions take, with voices it opens once and keeps.
type timer struct {
	mu       sync.Mutex
	speakers map[string]*player.Speaker
}

var timings = &timer{speakers: map[string]*player.Speaker{}}

// session plays a session without its sound to a patient who answers at once:
// the time to the first item, and in all.
func (t *timer) session(voice string, who coach.Programme) (lead, total time.Duration, err error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	speaker, err := t.speaker(voice, who.Own)
	if err != nil {
		return 0, 0, err
	}
	heard, end := player.Dry(player.Config{Programme: &who, Voice: speaker, Patient: player.Willing})
	for _, e := range heard.Entries {
		if e.Kind == coach.EntryItemStart {
			return e.Sample.Time(), end.Time(), nil
		}
	}
	return 0, end.Time(), nil
}

// speaker is a voice's speaker. One that is to say typed words is made anew,
// since they are part of it.
func (t *timer) speaker(name string, own []coach.OwnExercise) (*player.Speaker, error) {
	if s := t.speakers[name]; s != nil && len(own) == 0 {
		return s, nil
	}
	v, err := station.OpenVoice(name)
	if err != nil {
		return nil, err
	}
	if len(own) > 0 {
		defer v.Close()
		v.Own(own)
		return v.Patiently()
	}
	s, err := v.Patiently()
	if err == nil {
		t.speakers[name] = s // its voice stays open as long as the program runs
	}
	return s, err
}

// measure is session in whole seconds, rounded up.
func (t *timer) measure(voice string) func(coach.Programme) (lead, total int, err error) {
	return func(who coach.Programme) (int, int, error) {
		lead, total, err := t.session(voice, who)
		return upSeconds(lead), upSeconds(total), err
	}
}

func upSeconds(d time.Duration) int { return int((d + time.Second - 1) / time.Second) }

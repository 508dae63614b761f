package station

import (
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/link"
	"evenbell/coach/player"
)

// status says how the station is.
func (k *desk) status() link.Status {
	d := k.d
	now := d.Clock.Now()
	d.mu.Lock()
	defer d.mu.Unlock()
	s := k.now
	s.Wall, s.Trusted = nil, now.Trusted
	wall := now.Wall.UTC().Round(0)
	s.Wall = &wall
	s.Held = d.history.holds.tags()
	s.Locked = nil
	if d.history.locked && d.history.stop.Epoch != "" {
		at := link.Position(d.history.stop)
		s.Locked = &at
	}
	if s.Session != nil {
		copied := *s.Session
		s.Session = &copied
	}
	return s
}

// looked notes what the station found when it looked around.
func (k *desk) looked(r *readiness) {
	var found []string
	for _, t := range append(slices.Clone(r.troubles), r.refusal) {
		if t != "" {
			found = append(found, string(t))
		}
	}
	now := k.d.Clock.Now()
	test := link.SelfTest{OK: r.refusal == "", Findings: append([]string{}, found...)}
	if now.Trusted {
		at := now.Wall.UTC().Round(0)
		test.At = &at
	}
	k.d.mu.Lock()
	defer k.d.mu.Unlock()
	k.now.SelfTest, k.now.Space = test, r.daysLeft
}

// begins notes that a session begins.
func (k *desk) begins(id string, p *coach.Programme, voice string) {
	k.d.mu.Lock()
	k.now.Session = &link.SessionStatus{ID: id, Tag: p.Tag, Part: p.Part, Items: len(p.Items)}
	k.now.Voice, k.rests = voice, 0
	k.d.mu.Unlock()
	k.client.Changed()
}

// ends notes that the station is between sessions.
func (k *desk) ends() {
	k.d.mu.Lock()
	k.now.Session = nil
	k.d.mu.Unlock()
	k.client.Changed()
}

// follow notes what was heard.
func (k *desk) follow(e *player.Event) {
	k.d.mu.Lock()
	k.now.Sound = k.d.sounds
	changed := false
	if s := k.now.Session; s != nil && e.Note == (player.Note{}) {
		before := *s
		k.followSession(s, e)
		s.RestS = 0
		if k.rests > e.To {
			s.RestS = int((k.rests-e.To).Time()/time.Second) + 1
		}
		changed = before.Look != s.Look || before.Outcome != s.Outcome || before.Item != s.Item || before.Set != s.Set
	}
	k.d.mu.Unlock()
	if changed {
		k.client.Changed()
	}
}

func (k *desk) followSession(s *link.SessionStatus, e *player.Event) {
	s.Waiting, s.Look = e.Waiting, e.Look
	for i := range e.Cues {
		switch c := &e.Cues[i]; c.Kind {
		case coach.CueRest:
			k.rests = c.At + c.Length
		case coach.CueRestEnd, coach.CueReady, coach.CueStop, coach.CueDone:
			k.rests = 0
		case coach.CueLift, coach.CueLower:
			s.Rep = c.Rep
		}
	}
	for i := range e.Entries {
		entry := &e.Entries[i]
		switch d := entry.Data.(type) {
		case *coach.ItemStartData:
			s.Item, s.Exercise, s.Set, s.Rep = entry.Item, entry.Exercise, 0, 0
		case *coach.RepData:
			s.Rep = entry.Rep
		case *coach.SessionEndData:
			s.Outcome = string(d.Outcome)
		}
		if entry.Kind == coach.EntrySetStart {
			s.Set, s.Rep = entry.Set, 0
		}
	}
}

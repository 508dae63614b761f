package station

import (
	"log/slog"

	"evenbell/coach"
	"evenbell/coach/player"
	"evenbell/hardware"
)

// light shows on the lamps what is heard.
type light struct {
	lamps  hardware.Lamps // nil where there are none
	log    *slog.Logger
	cue    coach.Cue // the phase or rest going on
	notice bool      // staff should look when they pass: shown while nothing else is
	dead   bool      // a lamp failed, and it was said
}

// follow takes in an event.
func (l *light) follow(e *player.Event) {
	if l.lamps == nil || e.Note != (player.Note{}) {
		return
	}
	for i := range e.Cues {
		switch c := &e.Cues[i]; c.Kind {
		case coach.CueLift, coach.CueTop, coach.CueLower, coach.CueBottom, coach.CueRest:
			l.cue = *c
		case coach.CueSetEnd, coach.CueRestEnd, coach.CuePause, coach.CueStop, coach.CueDone:
			l.cue = coach.Cue{}
		}
	}
	phase, gone := hardware.Phase(l.cue.Kind), (e.To - l.cue.At).Time()
	if phase == "" && l.notice {
		phase = hardware.Notice
	}
	l.set(hardware.PaceLamp, hardware.PaceLevel(phase, gone, l.cue.Length.Time(), l.lamps.Dims(hardware.PaceLamp)))
	stop := uint8(0)
	if e.Look {
		stop = hardware.Full
	}
	l.set(hardware.StopLamp, stop)
}

// set sets a lamp. One that fails is said once: a lamp is not worth a session.
func (l *light) set(lamp hardware.Lamp, level uint8) {
	if err := l.lamps.Set(lamp, level); err != nil && !l.dead {
		l.dead = true
		l.log.Error("a lamp has failed", "lamp", lamp, "error", err)
	}
}

// dark puts the lamps out.
func (l *light) dark() {
	if l.lamps != nil {
		l.set(hardware.PaceLamp, 0)
		l.set(hardware.StopLamp, 0)
	}
}

package player

import (
	"evenbell/audio"
	"evenbell/coach"
)

// The timbres of what is the same at every station. Older ears hear 300 to
// 1500 Hz best (ISO 7029), so every fundamental is there; harmonics carry the
// sound over a room's noise.
var (
	bellTimbre  = audio.NewTimbre(1, 0.15, 0.30, 0.05, 0.10)
	softTimbre  = audio.NewTimbre(1, 0.25, 0.05)
	alarmTimbre = audio.NewTimbre(1, 0.9, 0.8, 0.65, 0.5, 0.4)
)

// ms is a length in samples.
func ms(n int) int { return n * audio.Rate / 1000 }

// placed is a note some samples after its cue.
type placed struct {
	after int
	note  audio.Note
}

// struck is a note that fades by itself.
func struck(t *audio.Timbre, hz float64, length int, gain float32) audio.Note {
	return audio.Note{Timbre: t, From: hz, To: hz, Length: length, Gain: gain,
		Attack: ms(4), Release: ms(30), Sustain: 0, Fade: length / 4}
}

// bells are struck one after the other, a step of milliseconds apart.
func bells(t *audio.Timbre, step int, gain float32, hz ...float64) []placed {
	var ps []placed
	for i, f := range hz {
		ps = append(ps, placed{ms(step * i), struck(t, f, ms(2*step), gain)})
	}
	return ps
}

// fixed are the sounds that are the same at every station.
var fixed = map[coach.CueKind][]placed{
	coach.CueRest:     bells(bellTimbre, 200, 0.292, 523, 440),
	coach.CueRestEnd:  bells(bellTimbre, 160, 0.288, 523, 659),
	coach.CueWarmUp:   bells(bellTimbre, 180, 0.271, 440, 523, 659),
	coach.CueCoolDown: bells(bellTimbre, 220, 0.271, 659, 523, 440),
	coach.CueTimerEnd: bells(bellTimbre, 240, 0.275, 659, 659),
	coach.CuePause:    bells(bellTimbre, 180, 0.292, 440, 440),
	coach.CueResume:   bells(bellTimbre, 160, 0.292, 440, 587),
	coach.CueDone:     bells(bellTimbre, 200, 0.251, 523, 659, 784, 1047),
	coach.CueStop:     stopSignal(),
}

// stopSignal is shaped like a high-priority alarm burst as published tables
// describe it (IEC 60601-1-8 as quoted by independent code; the standard
// itself was not seen, and no conformity is claimed): twice five pulses, the
// third and fourth further apart, fundamental and five harmonics between 300
// and 4000 Hz, a rise of 15 % of the pulse.
func stopSignal() []placed {
	const pulse, gap, between = 150, 100, 500 // ms; third to fourth: 2·gap + pulse
	var ps []placed
	at := 0
	for range 2 {
		for i, hz := range []float64{523, 523, 523, 659, 523} {
			if i == 3 {
				at += gap + pulse
			}
			ps = append(ps, placed{ms(at), audio.Note{Timbre: alarmTimbre, From: hz, To: hz, Length: ms(pulse),
				Gain: 0.6, Attack: ms(pulse * 15 / 100), Release: ms(pulse * 15 / 100), Sustain: 1}})
			at += pulse + gap
		}
		at += between - gap
	}
	return ps
}

// notes are the sounds of a cue at a station of a register.
func notes(c *coach.Cue, r *register) []placed {
	switch c.Kind {
	case coach.CueLift:
		return r.movement(r.low, r.high, c.Length, r.gain.moving)
	case coach.CueLower:
		return r.movement(r.high, r.low, c.Length, r.gain.moving)
	case coach.CueTop:
		return r.movement(r.high, r.high, c.Length, r.gain.still)
	case coach.CueBottom:
		return r.movement(r.low, r.low, c.Length, r.gain.still)
	case coach.CueSay:
		if c.Phrase.ID == coach.SayLastOne {
			return r.lastOne
		}
	}
	if ps, ok := r.struck[c.Kind]; ok {
		return ps
	}
	return fixed[c.Kind]
}

// pacedByTone reports whether a cue's notes lead a movement, and so give way
// where a person is guided by voice.
func pacedByTone(k coach.CueKind) bool {
	switch k {
	case coach.CueLift, coach.CueTop, coach.CueLower, coach.CueBottom, coach.CueBeat, coach.CueBreath:
		return true
	}
	return false
}

// play starts a cue's notes and words, as the guide has it: words that pace a
// movement give way where a person is guided by tones.
func (p *Player) play(c *coach.Cue) {
	guide := p.cfg.Programme.Guide
	if guide != coach.GuideVoice || !pacedByTone(c.Kind) || c.Phrase.ID == "" && c.Kind == coach.CueBreath {
		for _, n := range notes(c, p.cfg.register()) {
			p.mix.Note(int64(c.At)+int64(n.after), n.note)
		}
	}
	if c.Phrase.ID == "" || guide == coach.GuideTones && c.PacesSet() {
		return
	}
	p.mix.HushClips(int64(c.At))
	p.cfg.Voice.say(&p.mix, int64(c.At), c.Phrase)
}

package player

import (
	"evenbell/audio"
	"evenbell/coach"
)

// The timbres. Older ears hear 300 to 1500 Hz best (ISO 7029), so every
// fundamental is there; harmonics carry the sound over a room's noise.
var (
	glideTimbre = audio.NewTimbre(1, 0.45, 0.22, 0.11)
	bellTimbre  = audio.NewTimbre(1, 0.15, 0.30, 0.05, 0.10)
	softTimbre  = audio.NewTimbre(1, 0.25, 0.05)
	alarmTimbre = audio.NewTimbre(1, 0.9, 0.8, 0.65, 0.5, 0.4)
)

// The ends of the glide: a lift rises from one to the other, a lower falls.
const lowPitch, highPitch = 370.0, 740.0

// ms is a length in samples.
func ms(n int) int { return n * audio.Rate / 1000 }

// placed is a note some samples after its cue.
type placed struct {
	after int
	note  audio.Note
}

// bell is a struck note that fades by itself.
func bell(hz float64, length int, gain float32) audio.Note {
	return audio.Note{Timbre: bellTimbre, From: hz, To: hz, Length: length, Gain: gain,
		Attack: ms(4), Release: ms(30), Sustain: 0, Fade: length / 4}
}

// bells are struck one after the other, a step of milliseconds apart.
func bells(step int, gain float32, hz ...float64) []placed {
	var ps []placed
	for i, f := range hz {
		ps = append(ps, placed{ms(step * i), bell(f, ms(2*step), gain)})
	}
	return ps
}

// movement is the sound of a phase: struck at its start so that the turn is
// plain, then held, moving or still, to its end.
func movement(from, to float64, length coach.Samples, gain float32) []placed {
	return []placed{{0, audio.Note{Timbre: glideTimbre, From: from, To: to, Length: int(length), Gain: gain,
		Attack: ms(5), Release: min(ms(60), int(length)/4), Sustain: 0.5, Fade: ms(90)}}}
}

// fixed are the sounds that do not depend on a length.
var fixed = map[coach.CueKind][]placed{
	coach.CueCountIn:  {{0, bell(587, ms(220), 0.30)}},
	coach.CueBeat:     {{0, bell(1175, ms(70), 0.13)}},
	coach.CueBreath:   {{0, swell(311, 349, 420)}},
	coach.CueSetEnd:   bells(160, 0.26, 784, 659, 523),
	coach.CueRest:     bells(200, 0.20, 523, 440),
	coach.CueRestEnd:  bells(160, 0.26, 523, 659),
	coach.CueWarmUp:   bells(180, 0.22, 440, 523, 659),
	coach.CueCoolDown: bells(220, 0.22, 659, 523, 440),
	coach.CueTimerEnd: bells(240, 0.26, 659, 659),
	coach.CuePause:    bells(180, 0.26, 440, 440),
	coach.CueResume:   bells(160, 0.26, 440, 587),
	coach.CueDone:     bells(200, 0.26, 523, 659, 784, 1047),
	coach.CueStop:     stopSignal(),
}

// lastOne is the sound of the last repetition's announcement.
var lastOne = bells(110, 0.24, 880, 1319)

// swell is a breath: it comes slowly and goes slowly.
func swell(from, to float64, length int) audio.Note {
	return audio.Note{Timbre: softTimbre, From: from, To: to, Length: ms(length), Gain: 0.20,
		Attack: ms(length / 2), Release: ms(length / 3), Sustain: 1}
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

// notes are the sounds of a cue.
func notes(c *coach.Cue) []placed {
	switch c.Kind {
	case coach.CueLift:
		return movement(lowPitch, highPitch, c.Length, 0.30)
	case coach.CueLower:
		return movement(highPitch, lowPitch, c.Length, 0.30)
	case coach.CueTop:
		return movement(highPitch, highPitch, c.Length, 0.12)
	case coach.CueBottom:
		return movement(lowPitch, lowPitch, c.Length, 0.12)
	case coach.CueSay:
		if c.Phrase.ID == coach.SayLastOne {
			return lastOne
		}
	}
	return fixed[c.Kind]
}

// inSet reports whether a cue's words pace a movement, and so give way where
// a person is guided by tones.
func inSet(c *coach.Cue) bool {
	switch c.Kind {
	case coach.CueCountIn, coach.CueLift, coach.CueLower, coach.CueBreath:
		return true
	}
	return c.Phrase.ID == coach.SayLastOne
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

// play starts a cue's notes and words, as the guide has it.
func (p *Player) play(c *coach.Cue) {
	guide := p.cfg.Programme.Guide
	if guide != coach.GuideVoice || !pacedByTone(c.Kind) || c.Phrase.ID == "" && c.Kind == coach.CueBreath {
		for _, n := range notes(c) {
			p.mix.Note(int64(c.At)+int64(n.after), n.note)
		}
	}
	if c.Phrase.ID == "" || guide == coach.GuideTones && inSet(c) {
		return
	}
	p.mix.HushClips(int64(c.At))
	for _, piece := range p.cfg.Voice.pieces(c.Phrase) {
		if pcm := p.cfg.Voice.clip(piece.id); pcm != nil {
			p.mix.Clip(int64(c.At)+int64(piece.at), pcm)
		}
	}
}

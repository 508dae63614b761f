package player

import (
	"evenbell/audio"
	"evenbell/coach"
)

// Registers is how many places in one room can be told apart by the pitch and
// the timbre of their pacing sounds.
const Registers = 4

// register is the pacing sounds of one place. At any share of a movement two
// registers are at least two semitones apart, and every fundamental lies
// between 300 and 1500 Hz.
type register struct {
	low, high float64 // the ends of the glide: a lift rises, a lower falls
	glide     *audio.Timbre
	gain      gains
	lastOne   []placed
	struck    map[coach.CueKind][]placed
}

// pitches are a register as it is written down, in Hz.
type pitches struct {
	low, high, count, beat float64
	breath, last           [2]float64
	setEnd                 [3]float64
	glide, bell            []float64 // harmonics, the first of them the strongest
	gain                   gains
}

// gains are how strong the sounds have to be to reach their loudness.
type gains struct{ moving, still, count, beat, breath, last, setEnd float32 }

// registers are the notes of the scale that keep the distance; the first is
// the one a station has where nobody chose.
var registers = [Registers]*register{
	newRegister(pitches{low: 370, high: 740, count: 587, beat: 1175, breath: [2]float64{311, 349},
		last: [2]float64{880, 1319}, setEnd: [3]float64{784, 659, 523},
		glide: []float64{1, 0.45, 0.22, 0.11}, bell: []float64{1, 0.15, 0.30, 0.05, 0.10},
		gain: gains{0.333, 0.190, 0.337, 0.330, 0.193, 0.263, 0.266}}),
	newRegister(pitches{low: 311, high: 622, count: 494, beat: 988, breath: [2]float64{349, 392},
		last: [2]float64{784, 1175}, setEnd: [3]float64{659, 554, 440},
		glide: []float64{1, 0, 0.50, 0, 0.25}, bell: []float64{1, 0, 0.45, 0, 0.20},
		gain: gains{0.272, 0.157, 0.318, 0.316, 0.191, 0.246, 0.251}}), // hollow
	newRegister(pitches{low: 440, high: 880, count: 698, beat: 1319, breath: [2]float64{392, 440},
		last: [2]float64{988, 1480}, setEnd: [3]float64{932, 784, 622},
		glide: []float64{1, 0.30, 0.45, 0.30}, bell: []float64{1, 0.30, 0.10, 0.20},
		gain: gains{0.340, 0.200, 0.373, 0.354, 0.191, 0.282, 0.295}}), // bright
	newRegister(pitches{low: 523, high: 1047, count: 831, beat: 1480, breath: [2]float64{440, 494},
		last: [2]float64{698, 1047}, setEnd: [3]float64{1109, 932, 740},
		glide: []float64{1, 0.10}, bell: []float64{1, 0.08},
		gain: gains{0.288, 0.170, 0.348, 0.319, 0.191, 0.295, 0.272}}), // plain
}

func newRegister(p pitches) *register {
	bell := audio.NewTimbre(p.bell...)
	r := &register{low: p.low, high: p.high, glide: audio.NewTimbre(p.glide...), gain: p.gain,
		lastOne: bells(bell, 110, p.gain.last, p.last[:]...)}
	r.struck = map[coach.CueKind][]placed{
		coach.CueCountIn: {{0, struck(bell, p.count, ms(220), p.gain.count)}},
		coach.CueBeat:    {{0, struck(bell, p.beat, ms(90), p.gain.beat)}},
		coach.CueBreath:  {{0, swell(p.breath[0], p.breath[1], 420, p.gain.breath)}},
		coach.CueSetEnd:  bells(bell, 160, p.gain.setEnd, p.setEnd[:]...),
	}
	return r
}

// movement is the sound of a phase: struck at its start so that the turn is
// plain, then held, moving or still, to its end.
func (r *register) movement(from, to float64, length coach.Samples, gain float32) []placed {
	return []placed{{0, audio.Note{Timbre: r.glide, From: from, To: to, Length: int(length), Gain: gain,
		Attack: ms(5), Release: min(ms(60), int(length)/4), Sustain: 0.5, Fade: ms(90)}}}
}

// swell is a breath: it comes slowly and goes slowly.
func swell(from, to float64, length int, gain float32) audio.Note {
	return audio.Note{Timbre: softTimbre, From: from, To: to, Length: ms(length), Gain: gain,
		Attack: ms(length / 2), Release: ms(length / 3), Sustain: 1}
}

// register is the one of the station.
func (c *Config) register() *register {
	if c.Register < 1 || c.Register > Registers {
		return registers[0]
	}
	return registers[c.Register-1]
}

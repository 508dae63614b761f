package player

import (
	"evenbell/audio"
	"evenbell/audio/audibility"
	"evenbell/coach"
)

// Sound is one of the station's own sounds, as somebody may want to measure
// it.
type Sound struct {
	Name  string
	Kind  coach.CueKind
	Notes []audio.Note // in the order they begin
	After []int        // where each note begins, in samples from the first
	Held  bool         // to be followed from its start to its end
}

// soundNames are the sounds in the order a person meets them.
var soundNames = []struct {
	kind coach.CueKind
	name string
	held bool
}{
	{coach.CueWarmUp, "warm-up", false}, {coach.CueCountIn, "count-in", false},
	{coach.CueLift, "lift", true}, {coach.CueTop, "still at the top", true},
	{coach.CueLower, "lower", true}, {coach.CueBottom, "still at the bottom", true},
	{coach.CueBeat, "beat", false}, {coach.CueBreath, "breath", false}, {coach.CueSay, "last repetition", false},
	{coach.CueSetEnd, "end of the set", false}, {coach.CueRest, "rest", false}, {coach.CueRestEnd, "end of the rest", false},
	{coach.CueTimerEnd, "end of a timer", false}, {coach.CuePause, "pause", false}, {coach.CueResume, "going on", false},
	{coach.CueCoolDown, "cool-down", false}, {coach.CueDone, "done", false}, {coach.CueStop, "stop", false},
}

// shownLengths are the lengths of the movements in Sounds: the common tempo.
var shownLengths = map[coach.CueKind]coach.Samples{
	coach.CueLift: 2 * audio.Rate, coach.CueLower: 3 * audio.Rate, coach.CueTop: audio.Rate, coach.CueBottom: audio.Rate,
}

// Sounds lists every sound of a station of a register, the movements at their
// common length, at full volume.
func Sounds(register int) []Sound {
	cfg := Config{Register: register}
	var out []Sound
	for _, s := range soundNames {
		c := coach.Cue{Kind: s.kind, Length: shownLengths[s.kind]}
		if s.kind == coach.CueSay {
			c.Phrase.ID = coach.SayLastOne
		}
		sound := Sound{Name: s.name, Kind: s.kind, Held: s.held}
		for _, p := range notes(&c, cfg.register()) {
			sound.Notes, sound.After = append(sound.Notes, p.note), append(sound.After, p.after)
		}
		out = append(out, sound)
	}
	return out
}

// Heard is how a listener hears the sound at the reference level: the note
// that stands out least, and of it the weakest moment where it has to be
// followed, else the strongest.
func (s Sound) Heard(l audibility.Listener) audibility.Moment {
	var least audibility.Moment
	for i, n := range s.Notes {
		moments := audibility.Moments(n, l)
		m := audibility.Strongest(moments)
		if s.Held {
			m = audibility.Weakest(moments)
		}
		if i == 0 || m.Over() < least.Over() {
			least = m
		}
	}
	return least
}

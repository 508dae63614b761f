// Package station assembles the device: a plan's patient, a voice, a sink, a
// button box and a log become one running session.
//
// It is the only library room that knows coach, audio, hardware and sounds at
// once. Its rule: silence first, then the log, then everything else; the
// audio goroutine waits for nothing but the sink.
package station

import (
	"errors"
	"fmt"
	"slices"

	"evenbell/audio"
	"evenbell/audio/voice"
	"evenbell/coach"
	"evenbell/coach/player"
	"evenbell/coach/script"
	"evenbell/coach/session"
)

// ahead is how many bytes of decoded clips a live session may keep: more than
// every sentence of a long one, for what is not decoded in time stays silent.
// The demo needs 14 MB.
const ahead = 24 << 20

// patient is how many bytes are kept by a speaker that decodes when it needs
// to: a few sentences.
const patient = 2 << 20

// Voice is an opened voice pack with the script it speaks, and what was typed
// for a session.
type Voice struct {
	script *script.Script
	pack   *voice.Pack
	store  *voice.Store
	own    []coach.OwnExercise
	typed  map[string][]int16 // text → sound, mono at audio.Rate
}

// OpenVoice opens a built-in voice. Close it when done.
func OpenVoice(name string) (*Voice, error) { return FindVoice(name, "") }

// FindVoice opens the voice of a name: the pack in the data folder's voices, if
// there is one, else the built-in one. A pack that is damaged, or lacks a line
// of its language's script, is refused with all that is missing. Close it when
// done.
func FindVoice(name, data string) (*Voice, error) {
	pack, err := voice.Find(name, data)
	if err != nil {
		return nil, err
	}
	sc, err := script.Load(pack.Manifest().Language)
	if err != nil {
		return nil, fmt.Errorf("opening the voice %s: %w", name, err)
	}
	var wrong []error
	for _, c := range sc.Clips() {
		if _, ok := pack.Info(c.ID); !ok {
			wrong = append(wrong, fmt.Errorf("clip %q is missing: %q", c.ID, c.Text))
		}
	}
	if len(wrong) > 0 {
		return nil, fmt.Errorf("the voice %s lacks %d of %d lines: %w", name, len(wrong), len(sc.Clips()), errors.Join(wrong...))
	}
	return &Voice{script: sc, pack: pack, store: voice.NewStore(pack, ahead)}, nil
}

// Fingerprint tells the words and the sound from any others: the version of
// the script, which every sentence has, and the fingerprint of the pack.
func (v *Voice) Fingerprint() string { return v.script.Version() + "+" + v.pack.Fingerprint() }

// Patiently is a speaker that decodes what it needs when it needs it.
func (v *Voice) Patiently() (*player.Speaker, error) {
	store := voice.NewStore(v.pack, patient)
	store.Close() // it never decodes ahead
	return v.speaker(func(id string) audio.Clip {
		clip, err := store.Get(id)
		if err != nil {
			return audio.Clip{} // the pack was checked when it was opened
		}
		return clip.Clip
	})
}

func (v *Voice) speaker(samples func(id string) audio.Clip) (*player.Speaker, error) {
	sp, err := player.NewSpeaker(v.script.With(v.own), v.pack, samples)
	if err != nil {
		return nil, err
	}
	for text, pcm := range v.typed {
		sp.Type(text, pcm)
	}
	return sp, nil
}

// AtOnce is a speaker that never waits: what is not decoded yet stays silent.
// It is for the audio goroutine, with Prepare called before.
func (v *Voice) AtOnce() (*player.Speaker, error) {
	sp, err := v.speaker(func(id string) audio.Clip {
		if clip := v.store.Ready(id); clip != nil {
			return clip.Clip
		}
		return audio.Clip{}
	})
	if err != nil {
		return nil, err
	}
	sp.Ahead(func(id string) { v.store.Prefetch(id) })
	return sp, nil
}

// Speaker is AtOnce at the speed of real time, and Patiently where a session
// could outrun the decoder.
func (v *Voice) Speaker(speed float64) (*player.Speaker, error) {
	if speed == 1 {
		return v.AtOnce()
	}
	return v.Patiently()
}

// Prepare decodes what a session or a lobby will say, in the order it will be
// heard: what may be said at once before it returns, the rest off the caller's
// goroutine.
func (v *Voice) Prepare(cfg player.Config) error {
	first, rest := lobbySays(cfg.Lobby), sometimes
	if cfg.Lobby == nil {
		cfg.Patient, cfg.Presses = player.Willing, nil
		heard, _ := player.Dry(cfg)
		first = []coach.Phrase{heard.Cues[0].Phrase}
		rest = nil
		for _, c := range heard.Cues {
			rest = append(rest, c.Phrase)
		}
		rest = append(rest, sometimes...)
	}
	for _, p := range append(first, coach.Phrase{ID: coach.SayStop}) {
		for _, id := range v.lines(p) {
			if _, err := v.store.Get(id); err != nil {
				return err
			}
		}
	}
	for _, p := range rest {
		for _, id := range v.lines(p) {
			v.store.Prefetch(id)
		}
	}
	return nil
}

// lines are the clips of the pack that a phrase may need, with what staff typed
// in it or with other words.
func (v *Voice) lines(p coach.Phrase) (ids []string) {
	words := v.script.With(v.own)
	clips := words.Say(p)
	if typed, ok := words.SayTyped(p); ok {
		clips = append(clips, typed...)
	}
	for _, c := range clips {
		if _, ok := v.pack.Info(c.ID); ok {
			ids = append(ids, c.ID)
		}
	}
	return ids
}

// lobbySays is what a lobby may say at once.
func lobbySays(l *session.Lobby) []coach.Phrase {
	if l == nil {
		return nil
	}
	ps := []coach.Phrase{{ID: coach.SayReadyHere}, {ID: coach.AskWho}, {ID: coach.SayPlaceLocked}, {ID: coach.SayReleased}}
	for _, t := range append(slices.Clone(l.Troubles), l.Refusal) {
		ps = append(ps, coach.Phrase{ID: coach.SayTrouble, Name: string(t)})
	}
	if l.Failed {
		ps = append(ps, coach.Phrase{ID: coach.SayTrouble, Name: string(coach.TroubleLogFailed)})
	}
	for i, g := range l.Guests {
		ps = append(ps, coach.Phrase{ID: coach.SayWho, N: i + 1, Name: g.Name}, coach.Phrase{ID: coach.AskIsItYou,
			Name: g.Name, Exercise: g.First.Exercise, Load: g.First.Dose.Load, Hands: g.First.Dumbbells})
	}
	if l.Broken != nil {
		ps = append(ps, coach.Phrase{ID: coach.AskGoOn, Name: l.Guests[l.Broken.Guest].Name, Exercise: l.Broken.Exercise})
	}
	return ps
}

// sometimes is what a session says only when something happens.
var sometimes = append([]coach.Phrase{
	{ID: coach.SayPaused}, {ID: coach.SayResume}, {ID: coach.SaySkip}, {ID: coach.SayEnoughDone},
	{ID: coach.AskAllRight}, {ID: coach.SayNeedsLook}, {ID: coach.AskSymptom}, {ID: coach.SayStopNoted},
	{ID: coach.SayNotWell}, {ID: coach.SayClosingNo}, {ID: coach.SayAbandoned}, {ID: coach.SayHelpComing},
	{ID: coach.SayEffort, Name: string(coach.ReserveNone)}, {ID: coach.SayEffort, Name: string(coach.ReserveMany)},
	{ID: coach.SayIntro, N: session.IntroPractised},
	{ID: coach.SayVolume, Name: "louder"}, {ID: coach.SayVolume, Name: "softer"},
	{ID: coach.SayVolume, Name: "loudest"}, {ID: coach.SayVolume, Name: "softest"},
}, symptomsSaid()...)

func symptomsSaid() (ps []coach.Phrase) {
	for _, s := range coach.Symptoms {
		ps = append(ps, coach.Phrase{ID: coach.SaySymptom, Name: string(s)})
	}
	return ps
}

// Close stops decoding ahead.
func (v *Voice) Close() { v.store.Close() }

// Package station assembles the device: a plan's patient, a voice, a sink, a
// button box and a log become one running session.
//
// It is the only library room that knows coach, audio, hardware and sounds at
// once. Its rule: silence first, then the log, then everything else; the
// audio goroutine waits for nothing but the sink.
package station

import (
	"fmt"
	"io/fs"

	"evenbell/audio/voice"
	"evenbell/coach"
	"evenbell/coach/player"
	"evenbell/coach/script"
	"evenbell/sounds"
)

// decoded is how many bytes of decoded clips a station keeps: enough for
// every sentence of a session.
const decoded = 20 << 20

// Voice is an opened voice pack with the script it speaks.
type Voice struct {
	script *script.Script
	pack   *voice.Pack
	store  *voice.Store
}

// OpenVoice opens the built-in voice of a language. Close it when done.
func OpenVoice(language string) (*Voice, error) {
	sc, err := script.Load(language)
	if err != nil {
		return nil, err
	}
	dir, err := fs.Sub(sounds.FS, language)
	if err != nil {
		return nil, fmt.Errorf("opening voice %s: %w", language, err)
	}
	pack, err := voice.Open(dir)
	if err != nil {
		return nil, fmt.Errorf("opening voice %s: %w", language, err)
	}
	return &Voice{script: sc, pack: pack, store: voice.NewStore(pack, decoded)}, nil
}

// Fingerprint tells one voice pack from any other.
func (v *Voice) Fingerprint() string { return v.pack.Fingerprint() }

// Patiently is a speaker that decodes what it needs when it needs it.
func (v *Voice) Patiently() (*player.Speaker, error) {
	return player.NewSpeaker(v.script, v.pack, func(id string) []int16 {
		clip, err := v.store.Get(id)
		if err != nil {
			return nil // the pack was checked when it was opened
		}
		return clip.Samples()
	})
}

// AtOnce is a speaker that never waits: what is not decoded yet stays silent.
// It is for the audio goroutine, with Prepare called before.
func (v *Voice) AtOnce() (*player.Speaker, error) {
	return player.NewSpeaker(v.script, v.pack, func(id string) []int16 {
		if clip := v.store.Ready(id); clip != nil {
			return clip.Samples()
		}
		return nil
	})
}

// Prepare decodes a session ahead, off the caller's goroutine, in the order
// it will be heard: the first sentences at once, then what a stop says, then
// the rest.
func (v *Voice) Prepare(cfg player.Config) error {
	cfg.Patient, cfg.Presses = player.Willing, nil
	heard, _ := player.Dry(cfg)
	phrases := []coach.Phrase{{ID: coach.SayStop}}
	for i, c := range heard.Cues {
		if i == 0 {
			for _, clip := range v.script.Say(c.Phrase) {
				if _, err := v.store.Get(clip.ID); err != nil {
					return err
				}
			}
		}
		phrases = append(phrases, c.Phrase)
	}
	phrases = append(phrases, sometimes...)
	for _, s := range coach.Symptoms {
		phrases = append(phrases, coach.Phrase{ID: coach.SaySymptom, Name: string(s)})
	}
	for _, p := range phrases {
		for _, clip := range v.script.Say(p) {
			v.store.Prefetch(clip.ID)
		}
	}
	return nil
}

// sometimes is what a session says only when something happens.
var sometimes = []coach.Phrase{
	{ID: coach.SayPaused}, {ID: coach.SayResume}, {ID: coach.SaySkip}, {ID: coach.SayEnoughDone},
	{ID: coach.AskAllRight}, {ID: coach.SayNeedsLook}, {ID: coach.AskSymptom}, {ID: coach.SayStopNoted},
	{ID: coach.SayNotWell}, {ID: coach.SayClosingNo}, {ID: coach.SayAbandoned}, {ID: coach.SayHelpComing},
	{ID: coach.SayEffort, Name: string(coach.ReserveNone)}, {ID: coach.SayEffort, Name: string(coach.ReserveMany)},
	{ID: coach.SayVolume, Name: "louder"}, {ID: coach.SayVolume, Name: "softer"},
	{ID: coach.SayVolume, Name: "loudest"}, {ID: coach.SayVolume, Name: "softest"},
}

// Close stops decoding ahead.
func (v *Voice) Close() { v.store.Close() }

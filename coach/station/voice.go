// Package station assembles the device: a plan's patient, a voice, a sink, a
// button box and a log become one running session.
//
// It is the only library room that knows coach, audio, hardware and sounds at
// once. Its rule: silence first, then the log, then everything else; the
// audio goroutine waits for nothing but the sink.
//
// At home, where a plan has [patient.home], it also keeps the days, as a fold
// over the log and so through power cuts and new plans:
//
//   - a stop, and a session that came to an end, end the day for the tag, also
//     once the box is freed or the hold cleared; so does a session that was cut
//     off and not gone on with. One that nobody came to ends nothing before its
//     first repetition;
//   - after a day on which a repetition was led come the plan's days of rest;
//   - before the plan's first day and after its last nobody is coached.
//
// Whoever wants to exercise all the same is told why not, when the next session
// is and whom to ring, and the log has a "refused" entry. Without a clock that
// can be believed the machine's own, which counts since it was switched on,
// keeps twelve hours for a day and the days of rest in hours; where it cannot
// tell either, the station says that its clock is not set and asks the person
// whether they have rested (question "rested"): a "no" is a day of rest. The
// plan's last day is not kept then.
//
// A program that is told to end in the middle of a session logs "shutdown" in
// it, and says so when it is back; whatever else ends one is told as a power
// cut.
package station

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"

	"evenbell/audio"
	"evenbell/audio/voice"
	"evenbell/coach"
	"evenbell/coach/player"
	"evenbell/coach/script"
)

// patient is how many bytes are kept by a speaker that decodes when it needs
// to: a few sentences.
const patient = 2 << 20

// Voice is an opened voice pack with the script it speaks, and what was typed
// for a session.
type Voice struct {
	script   *script.Script
	pack     *voice.Pack
	store    *voice.Store
	coming   stretches // of the session or lobby prepared last
	own      []coach.OwnExercise
	typed    map[string][]int16 // text → sound, mono at audio.Rate
	recorded map[string]line    // by text
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
// the script, which every sentence has, the fingerprint of the pack and, where
// there are any, one of all recordings that are used.
func (v *Voice) Fingerprint() string {
	print := v.script.Version() + "+" + v.pack.Fingerprint()
	if len(v.recorded) == 0 {
		return print
	}
	sum := sha256.New()
	for _, r := range v.Recorded() {
		fmt.Fprintln(sum, r.Hash)
	}
	return print + "+" + hex.EncodeToString(sum.Sum(nil))
}

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
	for text, line := range v.recorded {
		sp.Record(text, line.pcm)
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
	sp.Ahead(v.comes)
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

// Close stops decoding ahead.
func (v *Voice) Close() { v.store.Close() }

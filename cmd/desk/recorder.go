package main

import (
	"context"
	"sync"
	"time"

	"evenbell/audio"
	"evenbell/audio/speech"
	"evenbell/coach"
	"evenbell/coach/player"
	"evenbell/coach/station"
)

// recorder makes recorded lines of what staff send. It opens each voice once,
// to learn its language.
type recorder struct {
	mu        sync.Mutex
	languages map[string]string // by voice
}

// lineRecorder is the one of this program.
var lineRecorder = &recorder{languages: map[string]string{}}

// Fits implements desk.Recorder.
func (r *recorder) Fits(voice, text string) (string, time.Duration, error) {
	language, err := r.language(voice)
	return language, heard(longestLine(text)), err
}

func (r *recorder) language(voice string) (string, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if l, known := r.languages[voice]; known {
		return l, nil
	}
	v, err := station.OpenVoice(voice)
	if err != nil {
		return "", err
	}
	defer v.Close()
	r.languages[voice] = v.Language()
	return r.languages[voice], nil
}

// Line implements desk.Recorder.
func (r *recorder) Line(text string, file []byte) ([]byte, time.Duration, error) {
	pcm, err := speech.Line(file, longestLine(text))
	if err != nil {
		return nil, 0, err
	}
	return speech.WAV(pcm), heard(len(pcm)), nil
}

// longestLine is how many samples, at speech.Rate, words may take: as long as
// they may where a machine speaks them.
func longestLine(text string) int {
	return min(player.TypedLength(text)*speech.Rate/audio.Rate, speech.LongestLine)
}

func heard(samples int) time.Duration {
	return coach.SessionRate.Duration(coach.Samples(samples * audio.Rate / speech.Rate))
}

// sayLine has some English words said by a speech program, as a file that
// somebody might have recorded.
func sayLine(ctx context.Context, words string) ([]byte, error) {
	for _, e := range speech.Installed("en") {
		if sound, err := e.Speak(ctx, words); err == nil {
			return speech.WAV(speech.PCM(sound)), nil
		}
	}
	return nil, speech.ErrNoEngine
}

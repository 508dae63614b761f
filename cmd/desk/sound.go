package main

import (
	"bytes"
	"context"
	"fmt"
	"maps"
	"slices"

	"github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"

	"evenbell/coach"
	"evenbell/coach/link"
	"evenbell/coach/player"
	"evenbell/coach/station"
)

// sound lets staff hear on a page what a station would say and pace, and leads
// sessions again without a sound, to draw them. One is made at a time: each
// takes a core for a moment.
type sound struct{ turn chan struct{} }

// pageSound is the one of this program.
var pageSound = newSound()

func newSound() *sound { return &sound{turn: make(chan struct{}, 1)} }

// take waits for a turn.
func (s *sound) take(ctx context.Context) (func(), error) {
	select {
	case s.turn <- struct{}{}:
		return func() { <-s.turn }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// speakerFor opens a voice that says what was typed for a programme as it was
// recorded, by words, and the rest as far as this machine can; for what is left
// the script has other words, as on a station. It is to be closed when done.
func speakerFor(ctx context.Context, name string, p *coach.Programme, recorded map[string][]byte) (*player.Speaker, func(), error) {
	v, err := station.OpenVoice(name)
	if err != nil {
		return nil, nil, err
	}
	var lines []link.Recording
	for text, file := range recorded {
		lines = append(lines, link.Recording{Language: v.Language(), Text: text, Sound: file})
	}
	// What can't be spoken here has other words.
	_ = v.Record(lines, slices.Collect(maps.Keys(recorded))...)
	_ = v.TypeFor(ctx, p, "")
	sp, err := v.Patiently()
	if err != nil {
		v.Close()
		return nil, nil, err
	}
	return sp, v.Close, nil
}

// Item is the sound of one item, from its announcement to the end of its last
// set, as FLAC at half the stream's rate: that is the rate of the voice.
func (s *sound) Item(ctx context.Context, voice string, p coach.Programme, recorded map[string][]byte, item int) ([]byte, string, error) {
	done, err := s.take(ctx)
	if err != nil {
		return nil, "", err
	}
	defer done()
	if item < 0 || item >= len(p.Items) {
		return nil, "", fmt.Errorf("item %d of %d", item, len(p.Items))
	}
	p.Items = p.Items[item : item+1]
	p.Part, p.Intro, p.Note, p.WarmUp, p.CoolDown, p.WarmedUp, p.CoolsElsewhere = coach.Middle, false, "", 0, 0, false, false
	speaker, closeVoice, err := speakerFor(ctx, voice, &p, recorded)
	if err != nil {
		return nil, "", err
	}
	defer closeVoice()
	cfg := player.Config{Programme: &p, Voice: speaker, Patient: player.Willing}
	from, to := stretch(cfg)
	pcm, err := rendered(ctx, cfg, from, to)
	if err != nil {
		return nil, "", err
	}
	file, err := flacOf(pcm)
	return file, "audio/flac", err
}

// stretch is where the one item of a session begins, and where its last set has
// been said to end.
func stretch(cfg player.Config) (from, to coach.Samples) {
	heard, end := player.Dry(cfg)
	from, to = -1, end
	for _, c := range heard.Cues {
		if from < 0 && c.Exercise != "" {
			from = c.At
		}
		if c.Kind == coach.CueSetEnd {
			to = c.At + cfg.Voice.Length(c.Phrase) + coach.Samples(coach.SessionRate)/2
		}
	}
	return max(from, 0), min(to, end)
}

// rendered is a stretch of a session's sound, two samples made one.
func rendered(ctx context.Context, cfg player.Config, from, to coach.Samples) ([]int16, error) {
	pl := player.New(cfg)
	block := make([]int16, 4800)
	var out []int16
	for !pl.Over() && pl.Pos() < to {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		at := pl.Pos()
		n := pl.Render(block)
		for i := 0; i+1 < n; i += 2 {
			if p := at + coach.Samples(i); p >= from && p < to {
				out = append(out, int16((int32(block[i])+int32(block[i+1]))/2))
			}
		}
	}
	return out, nil
}

const (
	// flacBlock is how many samples are coded together: what encoders commonly use.
	flacBlock = 4096
	// flacBits is how fine a sample is: what is rounded off lies 72 dB below the
	// loudest, and takes half the file.
	flacBits = 12
)

// flacOf is samples as a FLAC file, mono, at half the stream's rate, in about a
// third of the bytes of PCM.
func flacOf(pcm []int16) ([]byte, error) {
	rate := uint32(coach.SessionRate) / 2
	var out bytes.Buffer
	enc, err := flac.NewEncoder(&out, &meta.StreamInfo{BlockSizeMin: flacBlock, BlockSizeMax: flacBlock,
		SampleRate: rate, NChannels: 1, BitsPerSample: flacBits, NSamples: uint64(len(pcm))})
	if err != nil {
		return nil, fmt.Errorf("beginning a FLAC file: %w", err)
	}
	for block := range slices.Chunk(pcm, flacBlock) {
		samples := make([]int32, len(block))
		for i, v := range block {
			samples[i] = rounded(v)
		}
		err := enc.WriteFrame(&frame.Frame{
			Header: frame.Header{HasFixedBlockSize: true, BlockSize: uint16(len(block)), SampleRate: rate, Channels: frame.ChannelsMono, BitsPerSample: flacBits},
			// The encoder looks for a better prediction by itself.
			Subframes: []*frame.Subframe{{SubHeader: frame.SubHeader{Pred: frame.PredVerbatim}, Samples: samples, NSamples: len(samples)}},
		})
		if err != nil {
			return nil, fmt.Errorf("writing a FLAC file: %w", err)
		}
	}
	return out.Bytes(), enc.Close()
}

// rounded is a sample of 16 bits in flacBits.
func rounded(v int16) int32 {
	const less = 16 - flacBits
	return min((int32(v)+1<<(less-1))>>less, 1<<(flacBits-1)-1)
}

// Lead leads a session again from what was pressed in it.
func (s *sound) Lead(ctx context.Context, voice string, p *coach.Programme, start coach.SessionStartData, presses []coach.Press) ([]coach.Cue, []coach.Entry, func(coach.Phrase) string, error) {
	done, err := s.take(ctx)
	if err != nil {
		return nil, nil, nil, err
	}
	defer done()
	speaker, closeVoice, err := speakerFor(ctx, voice, p, nil)
	if err != nil {
		return nil, nil, nil, err
	}
	defer closeVoice()
	heard, _ := player.Dry(player.Config{Programme: p, Voice: speaker, Start: start, Patient: player.Absent, Presses: presses})
	return heard.Cues, heard.Entries, speaker.Text, nil
}

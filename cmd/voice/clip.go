package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"sync"

	"evenbell/audio/loudness"
	"evenbell/audio/speech"
	"evenbell/audio/voice"
	"evenbell/coach/script"
)

// makeClips makes every clip, several at a time, and gives them in order.
func makeClips(ctx context.Context, from origin, clips []script.Clip, dir string) ([]voice.ClipInfo, error) {
	infos := make([]voice.ClipInfo, len(clips))
	errs := make([]error, len(clips))
	work := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range work {
				if errs[i] = ctx.Err(); errs[i] == nil {
					infos[i], errs[i] = makeClip(ctx, from, clips[i], dir)
				}
			}
		})
	}
	for i := range clips {
		work <- i
	}
	close(work)
	wg.Wait()
	return infos, errors.Join(errs...)
}

func makeClip(ctx context.Context, from origin, c script.Clip, dir string) (voice.ClipInfo, error) {
	fail := func(err error) (voice.ClipInfo, error) {
		return voice.ClipInfo{}, fmt.Errorf("making clip %q: %w", c.ID, err)
	}
	sound, err := from.read(ctx, c)
	if err != nil {
		return fail(err)
	}
	clip, err := speech.Shape(sound)
	if err != nil {
		return fail(err)
	}
	info, file, err := levelled(ctx, clip, from.kbits)
	if err != nil {
		return fail(err)
	}
	sum := sha256.Sum256(file)
	info.ID, info.Text, info.File, info.SHA256 = c.ID, c.Text, c.ID+".mp3", hex.EncodeToString(sum[:])
	return info, os.WriteFile(filepath.Join(dir, info.File), file, 0o644)
}

const (
	closeEnough = 0.2 // LU from the target
	mostTries   = 4
)

// levelled encodes a clip so that it is as loud as it should be once decoded:
// the encoder takes a little off, of some clips more.
func levelled(ctx context.Context, clip []float64, kbits int) (info voice.ClipInfo, file []byte, err error) {
	scale := usualScale
	for range mostTries {
		if file, err = encode(ctx, clip, kbits, scale); err != nil {
			return info, nil, err
		}
		if info, err = decoded(clip, file); err != nil {
			return info, nil, err
		}
		off := speech.TargetLUFS - info.LUFS
		if math.Abs(off) <= closeEnough {
			break
		}
		scale *= math.Pow(10, off/20)
	}
	return info, file, nil
}

// decoded says where in the decoded file the clip is, and how loud it is there.
func decoded(clip []float64, file []byte) (voice.ClipInfo, error) {
	var info voice.ClipInfo
	raw, err := voice.DecodeMP3(file)
	if err != nil {
		return info, err
	}
	skip, err := delay(clip, raw)
	if err != nil {
		return info, err
	}
	late := lead(raw[skip : skip+len(clip)])
	info.Skip, info.Samples = skip+late, (len(clip)-late)*voice.Rate/voice.FileRate
	info.LUFS, info.PeakDB, err = measure(raw[skip+late : skip+len(clip)])
	return info, err
}

// measure gives the loudness and the true peak of a decoded clip, to a
// hundredth.
func measure(decoded []int16) (lufs, peak float64, err error) {
	clip := make([]float64, len(decoded))
	for i, x := range decoded {
		clip[i] = float64(x) / 32768
	}
	if lufs, err = speech.Loudness(clip); err != nil {
		return 0, 0, err
	}
	m, err := loudness.NewMeter(voice.FileRate, 1)
	if err != nil {
		return 0, 0, err
	}
	m.Write(clip)
	return math.Round(lufs*100) / 100, math.Round(m.TruePeak()*100) / 100, nil
}

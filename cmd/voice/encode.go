package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"os/exec"
	"strconv"

	"evenbell/audio/speech"
	"evenbell/audio/voice"
)

const (
	usualScale = 1.05                // what the encoder takes off most clips: half a decibel
	runOut     = voice.FileRate / 10 // silence after a clip, so that its end is in a whole frame
	mostDelay  = 2500                // samples the encoder and decoder may add before a clip
	comparison = voice.FileRate / 4  // samples compared to find the delay
	likeness   = 0.9                 // correlation under which the file is not the clip
)

// encode makes an MP3 of a clip times scale, at kbits a second: no tag frame, which would move the start.
func encode(ctx context.Context, clip []float64, kbits int, scale float64) ([]byte, error) {
	raw := make([]byte, 0, 2*(len(clip)+runOut))
	for _, x := range clip {
		raw = binary.LittleEndian.AppendUint16(raw, uint16(int16(math.Round(x*32767))))
	}
	raw = append(raw, make([]byte, 2*runOut)...)
	khz := strconv.Itoa(voice.FileRate / 1000)
	cmd := exec.CommandContext(ctx, "lame", "--quiet", "-r", "-s", khz, "--bitwidth", "16", "--signed", "--little-endian",
		"-t", "-m", "m", "--cbr", "-b", strconv.Itoa(kbits), "--scale", strconv.FormatFloat(scale, 'f', 4, 64), "--resample", khz, "-", "-")
	cmd.Stdin = bytes.NewReader(raw)
	var out, msg bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &msg
	if err := cmd.Run(); err != nil {
		return nil, fmt.Errorf("encoding: %w: %s", err, bytes.TrimSpace(msg.Bytes()))
	}
	return out.Bytes(), nil
}

// delay is how many decoded samples come before the clip's first, found where
// the two are most alike.
func delay(clip []float64, decoded []int16) (int, error) {
	start := clip[:min(len(clip), comparison)]
	best, at := 0.0, 0
	for lag := 0; lag <= mostDelay && lag+len(clip) <= len(decoded); lag++ {
		if c := correlation(start, decoded[lag:lag+len(start)]); c > best {
			best, at = c, lag
		}
	}
	if at+len(clip) > len(decoded) {
		return 0, fmt.Errorf("the decoded file is shorter than the clip")
	}
	if c := correlation(clip, decoded[at:at+len(clip)]); c < likeness {
		return 0, fmt.Errorf("the decoded file is not like the clip: correlation %.2f", c)
	}
	return at, nil
}

func correlation(a []float64, b []int16) float64 {
	var ab, aa, bb float64
	for i, x := range a {
		y := float64(b[i])
		ab += x * y
		aa += x * x
		bb += y * y
	}
	if aa == 0 || bb == 0 {
		return 0
	}
	return ab / math.Sqrt(aa*bb)
}

// lead is how many samples more can go from the start of a decoded clip: the
// encoder softens some onsets, which leaves more silence than was meant. It
// looks at the samples a station plays, whose peaks are a little higher.
func lead(decoded []int16) int {
	played, loudest := voice.Double(decoded), 0
	for _, x := range played {
		loudest = max(loudest, int(x), -int(x))
	}
	for i, x := range played {
		if float64(max(int(x), -int(x))) > float64(loudest)*math.Pow(10, speech.OnsetDB/20) {
			return max(0, i/2-speech.Before)
		}
	}
	return 0
}

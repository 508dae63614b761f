package main

import (
	"context"
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"sync"

	"github.com/spf13/cobra"

	"evenbell/audio/loudness"
	"evenbell/audio/voice"
	"evenbell/coach/script"
)

//go:embed flite-notice.txt
var fliteNotice []byte

const (
	noticeName   = "NOTICE"
	fliteLicence = "permissive, Carnegie Mellon University; see " + noticeName
)

func buildCommand() *cobra.Command {
	var lang, engineName, out string
	cmd := &cobra.Command{
		Use:   "build --out DIR",
		Short: "Speak every clip of a script and write a pack",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			switch {
			case out == "":
				return fmt.Errorf("%w: say where with --out DIR", errUsage)
			case engineName != "flite":
				return fmt.Errorf("%w: there is no engine %q; there is flite", errUsage, engineName)
			}
			if err := replaceable(out); err != nil {
				return err
			}
			s, err := script.Load(lang)
			if err != nil {
				return err
			}
			m, err := build(cmd.Context(), s, out)
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%s: %d clips, fingerprint %s\n", out, len(m.Clips), m.Fingerprinted())
			return nil
		},
	}
	cmd.Flags().StringVar(&lang, "script", "en", "the script's language")
	cmd.Flags().StringVar(&engineName, "engine", "flite", "what speaks: flite")
	cmd.Flags().StringVar(&out, "out", "", "the pack's folder; what is there is replaced")
	return cmd
}

// build writes the pack beside out and then puts it in its place, so that a
// failed build leaves what was there.
func build(ctx context.Context, s *script.Script, out string) (voice.Manifest, error) {
	var none voice.Manifest
	out = filepath.Clean(out)
	fresh, err := os.MkdirTemp(filepath.Dir(out), "."+filepath.Base(out)+"-*")
	if err != nil {
		return none, fmt.Errorf("building a voice pack: %w", err)
	}
	defer os.RemoveAll(fresh)
	scratch, err := os.MkdirTemp("", "voice-*")
	if err != nil {
		return none, fmt.Errorf("building a voice pack: %w", err)
	}
	defer os.RemoveAll(scratch)
	speaker := flite{dir: scratch}
	m := voice.Manifest{Format: voice.Format, Language: s.Language(), Voice: speaker.name(), Licence: fliteLicence, Rate: voice.FileRate}
	if m.Clips, err = makeClips(ctx, speaker, s.Clips(), fresh); err != nil {
		return none, err
	}
	text, err := m.Encode()
	if err != nil {
		return none, err
	}
	for name, data := range map[string][]byte{voice.ManifestName: text, noticeName: fliteNotice} {
		if err := os.WriteFile(filepath.Join(fresh, name), data, 0o644); err != nil {
			return none, fmt.Errorf("building a voice pack: %w", err)
		}
	}
	if _, err := voice.Open(os.DirFS(fresh)); err != nil {
		return none, fmt.Errorf("building a voice pack: %w", err)
	}
	return m, replace(out, fresh)
}

// replaceable refuses a folder that is neither a pack nor empty: building
// would take away what is in it.
func replaceable(out string) error {
	names, err := os.ReadDir(out)
	if errors.Is(err, fs.ErrNotExist) || err == nil && len(names) == 0 {
		return nil
	}
	if err != nil {
		return fmt.Errorf("looking at %s: %w", out, err)
	}
	if _, err := os.Stat(filepath.Join(out, voice.ManifestName)); err != nil {
		return fmt.Errorf("%s is no voice pack and not empty: name a new folder, or a pack to replace", out)
	}
	return nil
}

// replace puts the folder fresh in the place of out.
func replace(out, fresh string) error {
	if err := os.Chmod(fresh, 0o755); err != nil {
		return fmt.Errorf("putting the voice pack in its place: %w", err)
	}
	if err := os.RemoveAll(out); err != nil {
		return fmt.Errorf("putting the voice pack in its place: %w", err)
	}
	if err := os.Rename(fresh, out); err != nil {
		return fmt.Errorf("putting the voice pack in its place: %w", err)
	}
	return nil
}

// makeClips makes every clip, several at a time, and gives them in order.
func makeClips(ctx context.Context, e engine, clips []script.Clip, dir string) ([]voice.ClipInfo, error) {
	infos := make([]voice.ClipInfo, len(clips))
	errs := make([]error, len(clips))
	work := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range work {
				if errs[i] = ctx.Err(); errs[i] == nil {
					infos[i], errs[i] = makeClip(ctx, e, clips[i], dir)
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

func makeClip(ctx context.Context, e engine, c script.Clip, dir string) (voice.ClipInfo, error) {
	fail := func(err error) (voice.ClipInfo, error) {
		return voice.ClipInfo{}, fmt.Errorf("making clip %q: %w", c.ID, err)
	}
	speech, err := e.speak(ctx, c)
	if err != nil {
		return fail(err)
	}
	clip, err := shape(speech)
	if err != nil {
		return fail(err)
	}
	file, err := encode(ctx, clip)
	if err != nil {
		return fail(err)
	}
	decoded, err := voice.DecodeMP3(file)
	if err != nil {
		return fail(err)
	}
	skip, err := delay(clip, decoded)
	if err != nil {
		return fail(err)
	}
	late := lead(decoded[skip : skip+len(clip)])
	skip, clip = skip+late, clip[late:]
	sum := sha256.Sum256(file)
	info := voice.ClipInfo{ID: c.ID, Text: c.Text, File: c.ID + ".mp3", Skip: skip,
		Samples: len(clip) * voice.Rate / voice.FileRate, SHA256: hex.EncodeToString(sum[:])}
	if info.LUFS, info.PeakDB, err = measure(decoded[skip : skip+len(clip)]); err != nil {
		return fail(err)
	}
	return info, os.WriteFile(filepath.Join(dir, info.File), file, 0o644)
}

// measure gives the loudness and the true peak of a decoded clip, to a
// hundredth.
func measure(decoded []int16) (lufs, peak float64, err error) {
	clip := make([]float64, len(decoded))
	for i, x := range decoded {
		clip[i] = float64(x) / 32768
	}
	if lufs, err = loopedLoudness(clip); err != nil {
		return 0, 0, err
	}
	m, err := loudness.NewMeter(voice.FileRate, 1)
	if err != nil {
		return 0, 0, err
	}
	m.Write(clip)
	return math.Round(lufs*100) / 100, math.Round(m.TruePeak()*100) / 100, nil
}

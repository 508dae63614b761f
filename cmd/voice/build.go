package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"evenbell/audio/voice"
	"evenbell/coach/script"
)

const noticeName = "NOTICE"

// buildFlags say what to build a pack from, and where to.
type buildFlags struct {
	lang, own, engine, recordings, licence, speaker, out string
}

func buildCommand() *cobra.Command {
	var f buildFlags
	cmd := &cobra.Command{
		Use:   "build --out DIR",
		Short: "Make a pack of every clip of a script, spoken by a program or recorded by a person",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			m, err := f.run(cmd.Context(), cmd.ErrOrStderr())
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%s: %d clips, fingerprint %s\n", f.out, len(m.Clips), m.Fingerprinted())
			return nil
		},
	}
	cmd.Flags().StringVar(&f.lang, "script", "en", "the script's language")
	ownFlag(cmd, &f.own)
	cmd.Flags().StringVar(&f.engine, "engine", "", "what speaks: flite, as usual in English, or espeak-ng")
	cmd.Flags().StringVar(&f.recordings, "recordings", "", "a folder of WAV files instead, each named by its clip as `voice sheet` prints them")
	cmd.Flags().StringVar(&f.licence, "licence", "", "with --recordings: the text of the speaker's licence, a file that goes into the pack")
	cmd.Flags().StringVar(&f.speaker, "speaker", "", "with --recordings: who speaks, as the pack is to name them")
	cmd.Flags().StringVar(&f.out, "out", "", "the pack's folder; what is there is replaced")
	return cmd
}

// run builds the pack the flags ask for; what is worth a word goes to notes.
func (f buildFlags) run(ctx context.Context, notes io.Writer) (voice.Manifest, error) {
	var none voice.Manifest
	if err := f.check(); err != nil {
		return none, err
	}
	s, err := lines(f.lang, f.own)
	if err != nil {
		return none, err
	}
	from, err := f.from(s, notes)
	if err != nil {
		return none, err
	}
	if err := replaceable(f.out); err != nil {
		return none, err
	}
	return build(ctx, s, from, f.out)
}

func (f buildFlags) check() error {
	recorded := f.recordings != ""
	switch {
	case f.out == "":
		return fmt.Errorf("%w: say where with --out DIR", errUsage)
	case recorded && f.engine != "":
		return fmt.Errorf("%w: --engine or --recordings, not both", errUsage)
	case recorded && (f.licence == "" || f.speaker == ""):
		return fmt.Errorf("%w: --recordings needs --licence FILE and --speaker NAME", errUsage)
	case !recorded && (f.licence != "" || f.speaker != ""):
		return fmt.Errorf("%w: --licence and --speaker go with --recordings", errUsage)
	}
	return nil
}

// from is where the pack's sound comes from. Recordings are refused with every
// line that nobody has read yet; files of no line are left out.
func (f buildFlags) from(s *script.Script, notes io.Writer) (origin, error) {
	if f.recordings == "" {
		return engine(f.engine, f.lang)
	}
	licence, err := os.ReadFile(f.licence)
	if err != nil {
		return origin{}, fmt.Errorf("reading the licence: %w", err)
	}
	if len(bytes.TrimSpace(licence)) == 0 {
		return origin{}, fmt.Errorf("the licence %s is empty: it says what may be done with the speaker's voice", f.licence)
	}
	r := recorded{f.recordings}
	missing, unknown, err := r.compare(s.Lines())
	if err != nil {
		return origin{}, err
	}
	for _, name := range unknown {
		fmt.Fprintf(notes, "%s%s: no line of the script, left out\n", name, recording)
	}
	for _, c := range missing {
		fmt.Fprintf(notes, "%s%s: missing: %q\n", c.ID, recording, c.Text)
	}
	if len(missing) > 0 {
		return origin{}, fmt.Errorf("%d of %d lines are missing from %s", len(missing), len(s.Lines()), f.recordings)
	}
	return origin{r, f.speaker, "see " + noticeName, licence, 32}, nil
}

// build writes the pack beside out and then puts it in its place, so that a
// failed build leaves what was there.
func build(ctx context.Context, s *script.Script, from origin, out string) (voice.Manifest, error) {
	var none voice.Manifest
	out = filepath.Clean(out)
	fresh, err := os.MkdirTemp(filepath.Dir(out), "."+filepath.Base(out)+"-*")
	if err != nil {
		return none, fmt.Errorf("building a voice pack: %w", err)
	}
	defer os.RemoveAll(fresh)
	m := voice.Manifest{Format: voice.Format, Language: s.Language(), Voice: from.voice, Licence: from.licence, Rate: voice.FileRate}
	if m.Clips, err = makeClips(ctx, from, s.Lines(), fresh); err != nil {
		return none, err
	}
	text, err := m.Encode()
	if err != nil {
		return none, err
	}
	for name, data := range map[string][]byte{voice.ManifestName: text, noticeName: from.notice} {
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

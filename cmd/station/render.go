package main

import (
	"fmt"
	"io"
	"os"
	"time"

	"github.com/spf13/cobra"

	"evenbell/audio/sink"
	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/picture"
	"evenbell/coach/player"
)

// renderFlags are what `station render` was asked for.
type renderFlags struct {
	protocol, tag                        string
	wav, cues, journal, picture, presses string
	patient, start                       string
	levels                               levels
}

func (p *program) render() *cobra.Command {
	var f renderFlags
	c := &cobra.Command{
		Use:   "render PLAN.toml",
		Short: "Play the whole session into files, as fast as it can",
		Long: `Render plays one patient's whole session offline and writes what was asked for.
The same inputs give the same bytes.`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return p.renderPlan(args[0], &f) },
	}
	fl := c.Flags()
	fl.StringVar(&f.protocol, "protocol", "", "the clinic's own protocol `FILE`")
	fl.StringVar(&f.tag, "tag", "", "the patient's `TAG`; without it the first in the plan")
	fl.StringVar(&f.wav, "wav", "", "write the sound to `FILE`: 48 kHz, mono, 16-bit PCM")
	fl.StringVar(&f.cues, "cues", "", "write every cue to `FILE` as CSV")
	fl.StringVar(&f.journal, "journal", "", "write the log to `FILE` as JSON lines")
	fl.StringVar(&f.picture, "picture", "", "draw the session into `FILE` as SVG")
	fl.StringVar(&f.presses, "presses", "", "add presses from a CSV `FILE` with the header seconds,button")
	fl.StringVar(&f.patient, "patient", string(player.Willing), "who answers: willing, as a well person would, or absent")
	fl.StringVar(&f.start, "start", "", "the session's beginning, RFC 3339; without it 09:00 UTC on the plan's day")
	f.levels.flags(fl)
	return c
}

func (p *program) renderPlan(file string, f *renderFlags) error {
	who := player.Patient(f.patient)
	if who != player.Willing && who != player.Absent {
		return fmt.Errorf("--patient %q: it is willing or absent", f.patient)
	}
	if err := f.levels.check(); err != nil {
		return err
	}
	presses, err := readPresses(f.presses)
	if err != nil {
		return err
	}
	s, err := p.prepare(file, f.protocol, f.tag, "1")
	if err != nil {
		return err
	}
	defer s.voice.Close()
	start, err := startTime(f.start, s.plan.Day)
	if err != nil {
		return err
	}
	s.prog.Next = s.prog.Next.From(start)
	speaker, err := s.voice.Patiently()
	if err != nil {
		return failed(err)
	}
	cfg := s.config(speaker)
	f.levels.set(&cfg)
	cfg.Patient, cfg.Presses = who, presses
	heard, err := renderSound(cfg, f.wav)
	if err != nil {
		return failed(err)
	}
	if err := writeRecords(f, s, speaker, heard, start); err != nil {
		return failed(err)
	}
	end := heard.Entries[len(heard.Entries)-1]
	outcome := end.Data.(*coach.SessionEndData).Outcome
	fmt.Fprintf(p.stdout, "%s: %s after %s\n", s.prog.Tag, outcome, clock(end.Sample.Time()))
	return nil
}

// renderSound plays a session into a WAV file, or into nothing where no file
// is named.
func renderSound(cfg player.Config, wav string) (player.Heard, error) {
	if wav == "" {
		heard, _ := player.Dry(cfg)
		return heard, nil
	}
	out, err := sink.NewWAV(wav)
	if err != nil {
		return player.Heard{}, err
	}
	pl := player.New(cfg)
	block := make([]int16, 4096)
	for !pl.Over() {
		n := pl.Render(block)
		if err := out.Write(block[:n]); err != nil {
			return player.Heard{}, err
		}
	}
	return pl.Take(player.All), out.Close()
}

// writeRecords writes the cue sheet, the log and the picture, each whole or
// not at all.
func writeRecords(f *renderFlags, s *prepared, speaker *player.Speaker, heard player.Heard, start time.Time) error {
	if err := writeWhole(f.cues, func(w io.Writer) error {
		return writeCues(w, heard.Cues, speaker.Text)
	}); err != nil {
		return err
	}
	if err := writeWhole(f.journal, func(w io.Writer) error {
		wall := start.UTC()
		stamp := journal.NewStamp(journal.OfflineEpoch, journal.OfflineBoot, journal.OfflineSession, &wall, 0)
		return writeJournal(w, stamp, heard.Entries)
	}); err != nil {
		return err
	}
	return writeWhole(f.picture, func(w io.Writer) error {
		return picture.Draw(w, &s.prog, heard.Cues, heard.Entries, speaker.Text)
	})
}

func writeJournal(w io.Writer, stamp *journal.Stamp, entries []coach.Entry) error {
	out := journal.NewWriter(w)
	if err := out.Write(stamp.Start(coach.StartData{})); err != nil {
		return err
	}
	for _, e := range entries {
		if err := out.Write(stamp.Next(e)); err != nil {
			return err
		}
	}
	return nil
}

func writeCues(w io.Writer, cues []coach.Cue, text func(coach.Phrase) string) error {
	sheet, err := player.NewSheet(w, text)
	if err != nil {
		return err
	}
	if err := sheet.Write(cues...); err != nil {
		return err
	}
	return sheet.Close()
}

// readPresses reads scripted presses; none where no file is named.
func readPresses(file string) ([]coach.Press, error) {
	if file == "" {
		return nil, nil
	}
	in, err := os.Open(file)
	if err != nil {
		return nil, failed(fmt.Errorf("reading the presses: %w", err))
	}
	defer in.Close()
	presses, faults := player.ReadPresses(file, in)
	if len(faults) > 0 {
		return nil, invalid(faults)
	}
	return presses, nil
}

// defaultStart is the hour a rendered session begins at, UTC.
const defaultStart = 9 * time.Hour

// startTime is when a rendered session begins, in the zone it was given in: the
// clinic's clock.
func startTime(s string, day coach.Day) (time.Time, error) {
	if s == "" {
		return day.Time().Add(defaultStart), nil
	}
	t, err := time.Parse(time.RFC3339, s)
	if err != nil {
		return time.Time{}, fmt.Errorf("--start %q: give a time such as 2026-03-02T09:00:00Z", s)
	}
	return t, nil
}

package main

import (
	"fmt"
	"text/tabwriter"

	"evenbell/audio/audibility"
	"evenbell/coach/player"
)

// wantedDB is how far a sound is to stand above hearing and noise.
const wantedDB = 10.0

// duckedDB is how much lower the sounds are while a word is spoken.
const duckedDB = 9.0

// soundsTable prints how well a listener hears every sound of every register.
func (p *program) soundsTable(l audibility.Listener) error {
	if err := l.Check(); err != nil {
		return err
	}
	fmt.Fprintf(p.stdout, "A %s of %d in a room of %g dB(A). Volume 0 dB; taken for given: speech then arrives with %g dB SPL.\n",
		l.Sex, l.Age, l.NoiseDBA, audibility.SpeechDB)
	fmt.Fprintln(p.stdout, "dB above half of such people's hearing threshold (ISO 7029), and above what pink noise of that level hides;")
	fmt.Fprintln(p.stdout, "of a movement the weakest moment, of a melody the weakest note. A model: try the sounds in the room.")
	w := tabwriter.NewWriter(p.stdout, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "REGISTER\tSOUND\tHZ\tDB SPL\tOVER HEARING\tOVER NOISE\t10 DB")
	under, spoken, all := 0, 0, 0
	for r := 1; r <= player.Registers; r++ {
		for _, s := range player.Sounds(r) {
			m := s.Heard(l)
			met := "met"
			if m.Over() < wantedDB {
				met = "NOT MET"
				under++
			}
			if m.Over()-duckedDB < wantedDB {
				spoken++
			}
			all++
			fmt.Fprintf(w, "%d\t%s\t%.0f\t%.1f\t%.1f\t%.1f\t%s\n", r, s.Name, m.Hz, m.LevelDB, m.OverHearing, m.OverNoise, met)
		}
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if under == 0 {
		fmt.Fprintf(p.stdout, "All %d stand %g dB above both.", all, wantedDB)
	} else {
		fmt.Fprintf(p.stdout, "%d of %d do not stand %g dB above both: turn the station up, or the room down.", under, all, wantedDB)
	}
	fmt.Fprintf(p.stdout, " While a word is spoken the sounds are %g dB lower, and %d of %d do not.\n", duckedDB, spoken, all)
	return nil
}

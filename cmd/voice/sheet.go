package main

import (
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"evenbell/audio/voice"
	"evenbell/coach/script"
)

func sheetCommand() *cobra.Command {
	var lang, own string
	cmd := &cobra.Command{
		Use:   "sheet",
		Short: "Print every line a speaker has to read, with its file's name",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			s, err := lines(lang, own)
			if err != nil {
				return err
			}
			for i, c := range s.Lines() {
				how := ""
				if c.Brisk {
					how = "  (short)"
				}
				fmt.Fprintf(cmd.OutOrStdout(), "%4d  %-42s %s%s\n", i+1, c.ID, c.Text, how)
			}
			return nil
		},
	}
	cmd.Flags().StringVar(&lang, "script", "en", "the script's language")
	ownFlag(cmd, &own)
	return cmd
}

func checkCommand() *cobra.Command {
	var own string
	cmd := &cobra.Command{
		Use:   "check DIR",
		Short: "Say what is missing from a pack, damaged in it, or not needed",
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			p, err := voice.Open(os.DirFS(args[0]))
			if err != nil {
				return err
			}
			m := p.Manifest()
			s, err := lines(m.Language, own)
			if err != nil {
				return err
			}
			faults := faults(p, s)
			for _, f := range faults {
				fmt.Fprintln(cmd.ErrOrStderr(), f)
			}
			if len(faults) > 0 {
				return fmt.Errorf("%s does not fit the script %q: %d faults", args[0], m.Language, len(faults))
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%s: whole, %d clips, fingerprint %s\n", args[0], len(m.Clips), p.Fingerprint())
			return nil
		},
	}
	ownFlag(cmd, &own)
	return cmd
}

// faults says, one a line, where a pack does not fit a script and which of its
// files do not decode.
func faults(p *voice.Pack, s *script.Script) []string {
	var out []string
	needed := map[string]bool{}
	for _, c := range s.Lines() {
		needed[c.ID] = true
		info, ok := p.Info(c.ID)
		switch {
		case !ok:
			out = append(out, fmt.Sprintf("%s: missing: %q", c.ID, c.Text))
		case info.Text != c.Text:
			out = append(out, fmt.Sprintf("%s: says %q, the script says %q", c.ID, info.Text, c.Text))
		}
	}
	store := voice.NewStore(p, 0)
	defer store.Close()
	for _, c := range p.Manifest().Clips {
		if !needed[c.ID] {
			out = append(out, fmt.Sprintf("%s: the script does not need it", c.ID))
		}
		if _, err := store.Get(c.ID); err != nil {
			out = append(out, err.Error())
		}
	}
	return out
}

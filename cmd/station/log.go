package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"evenbell/coach/journal"
)

func (p *program) journal() *cobra.Command {
	var data, bundle string
	var jsonLines, verify bool
	c := &cobra.Command{
		Use:   "journal --data DIR",
		Short: "Print or verify the log on this device",
		Long: `Journal prints the log on this device, also while the station runs: a line an
entry, or with --jsonl the entries as they are. --verify checks every number,
checksum and link of the chain, and exits with 1 on damage. --bundle writes what
the desk has not said it has, signed, to a file to be carried there; "desk
import" takes it, as often as it is brought, once.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			if bundle != "" {
				return p.bundleLog(data, bundle)
			}
			return p.printLog(data, jsonLines, verify)
		},
	}
	c.Flags().StringVar(&data, "data", "", "the `FOLDER` the log is in")
	c.Flags().BoolVar(&jsonLines, "jsonl", false, "print the entries as JSON lines")
	c.Flags().BoolVar(&verify, "verify", false, "check numbers, checksums and chain")
	c.Flags().StringVar(&bundle, "bundle", "", "write what the desk lacks to `FILE`, to be carried there")
	c.MarkFlagsMutuallyExclusive("bundle", "jsonl")
	c.MarkFlagsMutuallyExclusive("bundle", "verify")
	_ = c.MarkFlagRequired("data")
	return c
}

func (p *program) printLog(data string, jsonLines, verify bool) (err error) {
	r, err := journal.OpenReader(data)
	if err != nil {
		return failed(err)
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	if verify {
		report, err := r.Verify()
		if err != nil {
			return failed(err)
		}
		entries := "entries"
		if report.Entries == 1 {
			entries = "entry"
		}
		fmt.Fprintf(p.stdout, "whole: %d %s in %d epoch%s, the newest %s %d\n",
			report.Entries, entries, report.Epochs, plural(report.Epochs), report.Head.Epoch, report.Head.Seq)
		if !jsonLines {
			return nil
		}
	}
	const batch = 1000
	var at journal.Position
	for {
		records, err := r.After(at, batch)
		if err != nil {
			return failed(err)
		}
		for _, rec := range records {
			if err := printRecord(p.stdout, rec, jsonLines); err != nil {
				return failed(err)
			}
			at = rec.Position
		}
		if len(records) < batch {
			return nil
		}
	}
}

func printRecord(w io.Writer, r journal.Record, jsonLines bool) error {
	if jsonLines {
		_, err := fmt.Fprintf(w, "%s\n", r.Line)
		return err
	}
	e, err := r.Entry()
	if err != nil {
		return err
	}
	wall := "clock not trusted"
	if e.Wall != nil {
		wall = e.Wall.Format("2006-01-02 15:04:05")
	}
	_, err = fmt.Fprintf(w, "%-17s %.8s %6d  %-14s %-4s %s\n", wall, r.Epoch, r.Seq, e.Kind, e.Tag, detail(e.Data))
	return err
}

// detail is an entry's data on one line; empty where it has none.
func detail(data any) string {
	if data == nil {
		return ""
	}
	b, err := json.Marshal(data)
	if err != nil {
		return err.Error()
	}
	return string(b)
}

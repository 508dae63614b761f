package player

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"

	"evenbell/coach"
)

// sheetHeader names the columns of a cue sheet.
var sheetHeader = []string{"sample", "kind", "tag", "exercise", "set", "rep", "side", "seconds", "text"}

// Sheet writes a cue sheet, cues.csv: RFC 4180 with LF line ends, one cue a
// line, in order of sample and, within one sample, in the order they sound.
type Sheet struct {
	csv  *csv.Writer
	text func(coach.Phrase) string
}

// NewSheet begins a sheet with its header. text gives a phrase's words.
func NewSheet(w io.Writer, text func(coach.Phrase) string) (*Sheet, error) {
	s := &Sheet{csv: csv.NewWriter(w), text: text}
	if err := s.csv.Write(sheetHeader); err != nil {
		return nil, fmt.Errorf("writing the cue sheet: %w", err)
	}
	return s, nil
}

// Write adds cues.
func (s *Sheet) Write(cues ...coach.Cue) error {
	for _, c := range cues {
		if err := s.csv.Write(s.row(&c)); err != nil {
			return fmt.Errorf("writing the cue sheet: %w", err)
		}
	}
	return nil
}

// Close writes out what is still held back.
func (s *Sheet) Close() error {
	s.csv.Flush()
	if err := s.csv.Error(); err != nil {
		return fmt.Errorf("writing the cue sheet: %w", err)
	}
	return nil
}

func (s *Sheet) row(c *coach.Cue) []string {
	seconds := ""
	if c.Length > 0 {
		seconds = coach.Seconds(coach.SessionRate.Duration(c.Length)).String()
	}
	return []string{strconv.FormatInt(int64(c.At), 10), string(c.Kind), c.Tag, c.Exercise,
		counted(c.Set), counted(c.Rep), string(c.Side), seconds, s.text(c.Phrase)}
}

// counted writes a number that counts from 1, and nothing for 0.
func counted(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

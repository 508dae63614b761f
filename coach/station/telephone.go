package station

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/google/renameio/v2"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/link"
	"evenbell/coach/session"
)

// A telephone code is one of 65,536, and six of them are good for a tag: five
// wrong ones an hour leave a guesser less than one chance in two thousand.
const (
	wrongCodes     = 5
	wrongCodesTime = time.Hour
)

// codes are the codes that would clear somebody who is held, by a secret
// shared with the desk.
func (h *history) codes(secret []byte) []session.Code {
	var out []session.Code
	for _, tag := range h.holds.tags() {
		for n := range int64(1 + link.TelephoneAhead) {
			counter := h.counter + 1 + n
			presses := link.TelephoneCode(secret, tag, counter)
			out = append(out, session.Code{Tag: tag, Counter: counter, Presses: slices.Clone(presses[:])})
		}
	}
	return out
}

// triesLeft is how many wrong codes may still be pressed now.
func (h *history) triesLeft(boot string, now journal.Instant) int {
	left := wrongCodes
	for _, e := range h.wrong {
		if since(e, boot, now) < wrongCodesTime {
			left--
		}
	}
	return max(0, left)
}

// since is how long ago an entry was made. Where neither the boot's clock nor
// a trusted one tells, it counts as made when the machine started.
func since(e coach.Entry, boot string, now journal.Instant) time.Duration {
	switch {
	case e.Boot == boot && boot != "":
		return time.Duration(now.Mono - e.MonoNS)
	case now.Trusted && e.Wall != nil:
		return now.Wall.Sub(*e.Wall)
	}
	return time.Duration(now.Mono)
}

// counterFile keeps the newest telephone code's number when the log's entry of
// it is deleted, so that no code is ever good twice.
const counterFile = "telephone.json"

type counterText struct {
	Format  string `json:"format"`
	Counter int64  `json:"counter"`
}

const counterFormat = "telephone-counter/1"

// keepCounter writes the newest code's number beside the log.
func keepCounter(dir string, counter int64) error {
	if counter == 0 {
		return nil
	}
	text, err := json.Marshal(counterText{counterFormat, counter})
	if err == nil {
		err = renameio.WriteFile(filepath.Join(dir, counterFile), append(text, '\n'), 0o600)
	}
	if err != nil {
		return fmt.Errorf("keeping the number of the last telephone code: %w", err)
	}
	return nil
}

// keptCounter reads what keepCounter wrote; 0 for nothing.
func keptCounter(dir string) (int64, error) {
	text, err := os.ReadFile(filepath.Join(dir, counterFile))
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	var c counterText
	if err == nil {
		err = json.Unmarshal(text, &c)
	}
	if err == nil && c.Format != counterFormat {
		err = fmt.Errorf("its format is %q", c.Format)
	}
	if err != nil {
		return 0, fmt.Errorf("reading the number of the last telephone code: %w", err)
	}
	return c.Counter, nil
}

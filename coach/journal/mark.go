package journal

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

const (
	markName  = "journal.mark"
	markSlot  = 4096 // bytes from one slot to the next: never the same sector
	markWords = "journal-mark/1"
)

// head is how far a log has come.
type head struct {
	Position
	hash Hash
}

// mark is the file that says how far the log had come. Each write goes to the
// other slot, so a torn one leaves the one before.
type mark struct {
	file   *os.File
	writes int64
}

// findMark gives the head that the mark names, nil where there is none.
func findMark(dir string) (*head, error) {
	h, _, ok, err := readMark(dir)
	if err != nil || !ok {
		return nil, err
	}
	return &h, nil
}

// readMark gives the newest head a mark file holds, and the number of its
// write; ok is false where there is none that its checksum vouches for.
func readMark(dir string) (h head, writes int64, ok bool, err error) {
	b, err := os.ReadFile(filepath.Join(dir, markName))
	if os.IsNotExist(err) {
		return head{}, 0, false, nil
	}
	if err != nil {
		return head{}, 0, false, fmt.Errorf("reading the log's mark: %w", err)
	}
	for from := 0; from < len(b); from += markSlot {
		slot, n, good := parseMark(b[from:min(from+markSlot, len(b))])
		if good && n > writes {
			h, writes, ok = slot, n, true
		}
	}
	return h, writes, ok, nil
}

func openMark(dir string) (*mark, error) {
	_, writes, _, err := readMark(dir)
	if err != nil {
		return nil, err
	}
	f, err := os.OpenFile(filepath.Join(dir, markName), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("opening the log's mark: %w", err)
	}
	return &mark{file: f, writes: writes}, nil
}

// set writes h to the older slot. It does not sync: see the package comment.
func (m *mark) set(h head) error {
	m.writes++
	if _, err := m.file.WriteAt(formatMark(h, m.writes), m.writes%2*markSlot); err != nil {
		return fmt.Errorf("writing the log's mark: %w", err)
	}
	return nil
}

// formatMark is one slot: words apart by spaces, the checksum last.
func formatMark(h head, writes int64) []byte {
	body := fmt.Sprintf("%s %020d %s %020d %s", markWords, writes, h.Epoch, h.Seq, h.hash)
	return fmt.Appendf(nil, "%s %08x\n", body, checksum([]byte(body)))
}

func parseMark(slot []byte) (h head, writes int64, ok bool) {
	line, _, found := bytes.Cut(slot, []byte("\n"))
	body, sum, spaced := cutLast(string(line))
	if !found || !spaced || sum != fmt.Sprintf("%08x", checksum([]byte(body))) {
		return head{}, 0, false
	}
	word := strings.Fields(body)
	if len(word) != 5 || word[0] != markWords {
		return head{}, 0, false
	}
	writes, err1 := strconv.ParseInt(word[1], 10, 64)
	seq, err2 := strconv.ParseInt(word[3], 10, 64)
	hash, err3 := hex.DecodeString(word[4])
	if err1 != nil || err2 != nil || err3 != nil || len(hash) != len(Hash{}) {
		return head{}, 0, false
	}
	return head{Position{word[2], seq}, Hash(hash)}, writes, true
}

func cutLast(s string) (before, after string, ok bool) {
	i := strings.LastIndexByte(s, ' ')
	if i < 0 {
		return s, "", false
	}
	return s[:i], s[i+1:], true
}

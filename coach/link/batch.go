package link

import (
	"bufio"
	"bytes"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"evenbell/coach"
	"evenbell/coach/journal"
)

// The bounds of a batch.
const (
	MaxBatch      = 500     // records
	maxBatchBytes = 4 << 20 // of lines: room for one of the longest, and for every batch a station makes
	fullBatch     = 1 << 20 // bytes of lines after which a batch is not filled further
)

// batchHead is the first line of a batch as it is written; as many lines of
// the log follow as it says, each as it stands there.
type batchHead struct {
	Epoch  string `json:"epoch"`
	After  int64  `json:"after"`
	Before string `json:"before"`
	Gone   bool   `json:"gone"`
	Lines  int    `json:"lines"`
}

// End is the number of the batch's last record, or After where it has none.
func (b Batch) End() int64 { return b.After + int64(len(b.Records)) }

// Hash is the chain's hash at End.
func (b Batch) Hash() journal.Hash {
	if len(b.Records) == 0 {
		return b.Before
	}
	return b.Records[len(b.Records)-1].Hash
}

// write writes the batch in its one written form.
func (b Batch) write(w *bytes.Buffer) error {
	head, err := json.Marshal(batchHead{b.Epoch, b.After, b.Before.String(), b.Gone, len(b.Records)})
	if err != nil {
		return fmt.Errorf("writing a batch: %w", err)
	}
	w.Write(append(head, '\n'))
	for _, r := range b.Records {
		w.Write(r.Line)
		w.WriteByte('\n')
	}
	return nil
}

// ParseBatch reads a batch and refuses one that is not whole in itself.
func ParseBatch(text []byte) (Batch, error) {
	r := bufio.NewReader(bytes.NewReader(text))
	b, err := readBatch(r)
	if err != nil {
		return Batch{}, err
	}
	if _, err := r.ReadByte(); !errors.Is(err, io.EOF) {
		return Batch{}, errors.New("reading a batch: something follows its last line")
	}
	return b, nil
}

// readBatch reads one batch and leaves what follows.
func readBatch(r *bufio.Reader) (Batch, error) {
	line, err := readLine(r)
	if err != nil {
		return Batch{}, fmt.Errorf("reading a batch: %w", err)
	}
	return readBatchAfter(line, r)
}

// readBatchAfter reads the lines that follow a batch's head.
func readBatchAfter(line []byte, r *bufio.Reader) (Batch, error) {
	var head batchHead
	if err := received(line, &head); err != nil {
		return Batch{}, fmt.Errorf("reading the head of a batch: %w", err)
	}
	b, err := head.batch()
	if err != nil {
		return Batch{}, fmt.Errorf("reading the head of a batch: %w", err)
	}
	at := b.Before
	for n := range head.Lines {
		line, err := readLine(r)
		if err != nil {
			return Batch{}, fmt.Errorf("reading line %d of a batch: %w", n+1, err)
		}
		rec := journal.Record{Position: journal.Position{Epoch: b.Epoch, Seq: b.After + int64(n) + 1}, Line: line}
		if err := checkRecord(rec); err != nil {
			return Batch{}, fmt.Errorf("reading line %d of a batch: %w", n+1, err)
		}
		at = at.Next(line)
		rec.Hash = at
		b.Records = append(b.Records, rec)
	}
	return b, nil
}

func (h batchHead) batch() (Batch, error) {
	b := Batch{Epoch: h.Epoch, After: h.After, Gone: h.Gone}
	before, err := hex.DecodeString(h.Before)
	switch {
	case !isEpoch(h.Epoch):
		return b, fmt.Errorf("%q is not the name of an epoch", h.Epoch)
	case err != nil || len(before) != len(b.Before):
		return b, errors.New("before is not a hash")
	case h.After < 0 || h.After > 1<<52:
		return b, fmt.Errorf("after is %d", h.After)
	case h.Lines < 0 || h.Lines > MaxBatch:
		return b, fmt.Errorf("%d lines; at most %d", h.Lines, MaxBatch)
	case h.Lines == 0 && !h.Gone:
		return b, errors.New("no lines, and nothing is gone")
	}
	copy(b.Before[:], before)
	if h.After == 0 && b.Before != (journal.Hash{}) {
		return b, errors.New("a chain begins with zeros")
	}
	return b, nil
}

// isEpoch reports whether s is 32 hexadecimal digits, lower case.
func isEpoch(s string) bool {
	if len(s) != 32 {
		return false
	}
	for _, c := range s {
		if (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return false
		}
	}
	return true
}

// checkRecord makes sure that a line is the entry it is said to be.
func checkRecord(r journal.Record) error {
	e, err := r.Entry()
	if err != nil {
		return err
	}
	if e.Epoch != r.Epoch || e.Seq != r.Seq {
		return fmt.Errorf("it is %s %d, and %s %d comes next", e.Epoch, e.Seq, r.Epoch, r.Seq)
	}
	if _, start := e.Data.(*coach.StartData); start != (e.Seq == 1) {
		return errors.New("a start is the first entry of an epoch, and nothing else is")
	}
	return nil
}

// readLine reads a line of the log, without its newline. A line without one
// was cut.
func readLine(r *bufio.Reader) ([]byte, error) {
	var line []byte
	for {
		part, err := r.ReadSlice('\n')
		line = append(line, part...)
		if len(line) > journal.MaxLine+1 {
			return nil, fmt.Errorf("longer than %d bytes", journal.MaxLine)
		}
		switch {
		case err == nil:
			return line[:len(line)-1], nil
		case errors.Is(err, bufio.ErrBufferFull):
		case errors.Is(err, io.EOF):
			return nil, io.ErrUnexpectedEOF
		default:
			return nil, err
		}
	}
}

// urgentHead is the first line of an urgent report; the entry follows as it
// stands in the log.
type urgentHead struct {
	Boot   string `json:"boot"`
	MonoNS int64  `json:"mono_ns"`
}

func (u Urgent) write(w *bytes.Buffer) error {
	head, err := json.Marshal(urgentHead{u.Boot, u.MonoNS})
	if err != nil {
		return fmt.Errorf("writing an urgent entry: %w", err)
	}
	w.Write(append(head, '\n'))
	w.Write(append(u.Line, '\n'))
	return nil
}

// ParseUrgent reads an urgent report.
func ParseUrgent(text []byte) (Urgent, error) {
	head, line, ok := bytes.Cut(text, []byte("\n"))
	line, whole := bytes.CutSuffix(line, []byte("\n"))
	if !ok || !whole || bytes.ContainsRune(line, '\n') {
		return Urgent{}, errors.New("reading an urgent entry: not two lines")
	}
	var h urgentHead
	if err := received(head, &h); err != nil {
		return Urgent{}, fmt.Errorf("reading an urgent entry: %w", err)
	}
	e, err := journal.ParseAnyLine(line)
	if err != nil {
		return Urgent{}, fmt.Errorf("reading an urgent entry: %w", err)
	}
	if !isEpoch(e.Epoch) || e.Seq < 1 {
		return Urgent{}, errors.New("reading an urgent entry: it has no epoch or no number")
	}
	return Urgent{Line: line, Entry: e, Boot: h.Boot, MonoNS: h.MonoNS}, nil
}

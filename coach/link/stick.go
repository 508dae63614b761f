package link

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"iter"
	"slices"
	"strings"
	"time"

	"evenbell/coach/journal"
)

// A bundle is what is carried by hand where no network is: a first line that
// says what it is and whose, what it holds, and a last line with a signature
// over every byte before it.
const (
	logBundle     = "log-bundle/1"
	deskBundle    = "desk-bundle/1"
	deskBundle2   = "desk-bundle/2" // with a line for each recording after the first
	signatureLine = `{"signature":`
)

// Carrier is who a bundle is from, its first line.
type Carrier struct {
	Format string     `json:"format"`
	Name   string     `json:"name"` // of the station
	Public []byte     `json:"public"`
	Made   *time.Time `json:"made"` // by the station's clock; null where that is not trusted
	// Boot and MonoNS are the same moment on the boot's clock.
	Boot   string `json:"boot"`
	MonoNS int64  `json:"mono_ns"`
}

// Key is the fingerprint of the key the bundle is signed with.
func (c Carrier) Key() string { return Fingerprint(c.Public) }

// signature is a bundle's last line.
type signature struct {
	Signature []byte `json:"signature"`
}

// BundleLog is what is bundled: a log and how far one has come in it.
type BundleLog interface {
	UnsentAfter(p journal.Position, limit int) (journal.Stretch, error)
}

// WriteBundle writes all that the desk has not said it has, signed by the
// station's key, and says how many entries that is.
func WriteBundle(w io.Writer, id *Identity, log BundleLog, made journal.Instant, boot string) (entries int, err error) {
	sum := sha256.New()
	out := bufio.NewWriter(io.MultiWriter(w, sum))
	c := Carrier{Format: logBundle, Name: id.Name, Public: id.Key.Public(), Boot: boot, MonoNS: made.Mono}
	if made.Trusted {
		at := made.Wall.UTC()
		c.Made = &at
	}
	out.Write(append(asJSON(c), '\n'))
	for at := (journal.Position{}); ; {
		s, err := log.UnsentAfter(at, MaxBatch)
		if err != nil {
			return entries, err
		}
		if s.Epoch == "" {
			break
		}
		b := batchOf(s)
		var text bytes.Buffer
		if err := b.write(&text); err != nil {
			return entries, err
		}
		out.Write(text.Bytes())
		at, entries = journal.Position{Epoch: b.Epoch, Seq: b.End()}, entries+len(b.Records)
	}
	if err := out.Flush(); err != nil {
		return entries, fmt.Errorf("writing a bundle: %w", err)
	}
	return entries, sign(w, id.Key, logBundle, sum)
}

// sign writes a bundle's last line.
func sign(w io.Writer, key Key, purpose string, sum hash.Hash) error {
	sig, err := key.sign(purpose, [sha256.Size]byte(sum.Sum(nil)))
	if err != nil {
		return err
	}
	if _, err := w.Write(append(asJSON(signature{sig}), '\n')); err != nil {
		return fmt.Errorf("writing a bundle: %w", err)
	}
	return nil
}

// ErrBundle says that a file is no bundle, or not one as it was signed.
var ErrBundle = errors.New("this file is not a bundle, or was changed since it was signed")

// Bundle is a station's log as it was carried, its signature checked.
type Bundle struct {
	Carrier
	in io.ReadSeeker
}

// ReadBundle checks a bundle from its first byte to its last before anything
// of it is believed: ErrBundle. Whether the key is one that the desk let in is
// the desk's to say; it knows the Carrier's Key.
func ReadBundle(in io.ReadSeeker) (*Bundle, error) {
	first, err := checkSigned(in, logBundle)
	if err != nil {
		return nil, err
	}
	b := &Bundle{in: in}
	if err := decode(first, &b.Carrier); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrBundle, err)
	}
	return b, nil
}

// Batches gives what the bundle holds, to be appended like any other batch: it
// has effect once, however often it is brought.
func (b *Bundle) Batches() iter.Seq2[Batch, error] {
	return func(yield func(Batch, error) bool) {
		if _, err := b.in.Seek(0, io.SeekStart); err != nil {
			yield(Batch{}, fmt.Errorf("reading a bundle: %w", err))
			return
		}
		r := bufio.NewReader(b.in)
		if _, err := readLine(r); err != nil {
			yield(Batch{}, fmt.Errorf("reading a bundle: %w", err))
			return
		}
		for {
			head, err := readLine(r)
			if err == nil && bytes.HasPrefix(head, []byte(signatureLine)) {
				return
			}
			var batch Batch
			if err == nil {
				batch, err = readBatchAfter(head, r)
			}
			batch.Carried = true
			if err != nil {
				yield(Batch{}, fmt.Errorf("reading a bundle: %w", err))
				return
			}
			if !yield(batch, nil) {
				return
			}
		}
	}
}

// checkSigned checks the form and the signature of a whole bundle and gives
// its first line.
func checkSigned(in io.ReadSeeker, formats ...string) ([]byte, error) {
	if _, err := in.Seek(0, io.SeekStart); err != nil {
		return nil, fmt.Errorf("reading a bundle: %w", err)
	}
	r, sum := bufio.NewReader(in), sha256.New()
	var first []byte
	for {
		line, err := readLine(r)
		if err != nil {
			return nil, fmt.Errorf("%w: %w", ErrBundle, err)
		}
		if first == nil {
			first = line
		}
		if bytes.HasPrefix(line, []byte(signatureLine)) {
			if _, err := r.ReadByte(); !errors.Is(err, io.EOF) {
				return nil, fmt.Errorf("%w: something follows the signature", ErrBundle)
			}
			return first, checkSignature(first, line, formats, sum)
		}
		sum.Write(append(line, '\n'))
	}
}

// checkSignature holds a bundle's last line against what was read.
func checkSignature(first, last []byte, formats []string, sum hash.Hash) error {
	var who struct {
		Format string `json:"format"`
		Public []byte `json:"public"`
	}
	var s signature
	if json.Unmarshal(first, &who) != nil || decode(last, &s) != nil {
		return ErrBundle
	}
	if !slices.Contains(formats, who.Format) {
		return fmt.Errorf("%w: its format is %q, and %s is read here", ErrBundle, who.Format, strings.Join(formats, " or "))
	}
	if err := verify(who.Public, who.Format, [sha256.Size]byte(sum.Sum(nil)), s.Signature); err != nil {
		return fmt.Errorf("%w: %w", ErrBundle, err)
	}
	return nil
}

// DeskBundle is what the desk gives a station that has no network: what it
// would say over the link, and the marks, so that the station may delete what
// the desk has.
type DeskBundle struct {
	Format  string    `json:"format"`
	Public  []byte    `json:"public"`
	Station string    `json:"station"` // fingerprint of the key it is for
	Made    time.Time `json:"made"`    // by the desk's clock; none older than what the station has is taken
	State   State     `json:"state"`
	Plan    Plan      `json:"plan"`
	Marks   []Mark    `json:"marks"` // the newest epochs', at most MaxEpochs
	// Recordings are those that the State names, each on a line of its own. A
	// bundle without any is one that older stations read, too.
	Recordings []Recording `json:"-"`
}

// WriteDeskBundle writes a bundle for a station, signed by the desk's key.
// Format and Public are filled in.
func WriteDeskBundle(w io.Writer, key Key, b DeskBundle) error {
	b.Format, b.Public = deskBundle, key.Public()
	if len(b.Recordings) > 0 {
		b.Format = deskBundle2
	}
	sum := sha256.New()
	lines := []any{b}
	for _, r := range b.Recordings {
		lines = append(lines, r)
	}
	for _, v := range lines {
		line, err := json.Marshal(v)
		if err == nil {
			_, err = io.MultiWriter(w, sum).Write(append(line, '\n'))
		}
		if err != nil {
			return fmt.Errorf("writing a bundle: %w", err)
		}
	}
	return sign(w, key, b.Format, sum)
}

// ReadDeskBundle reads a bundle that was carried to this station, and takes it
// only from the desk that let it in: ErrBundle, ErrPin.
func ReadDeskBundle(in io.ReadSeeker, id *Identity) (*DeskBundle, error) {
	first, err := checkSigned(in, deskBundle, deskBundle2)
	if err != nil {
		return nil, err
	}
	var b DeskBundle
	if err := decode(first, &b); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrBundle, err)
	}
	switch {
	case Fingerprint(b.Public) != id.Desk:
		return nil, fmt.Errorf("this bundle is from another desk: %w", ErrPin)
	case b.Station != id.Key.Fingerprint():
		return nil, fmt.Errorf("%w: it is for another station, or for this one before it was enrolled anew", ErrBundle)
	case b.State.Plan != b.Plan.Version || b.Plan.Version != 0 && b.State.PlanHash != b.Plan.Hash():
		return nil, fmt.Errorf("%w: it speaks of another plan than it holds", ErrBundle)
	}
	if b.Recordings, err = readRecordings(in, b.State.Recordings); err != nil {
		return nil, err
	}
	return &b, nil
}

// readRecordings reads the recordings of a bundle that was checked, which are
// those that its State names and no others.
func readRecordings(in io.ReadSeeker, hashes []string) (all []Recording, err error) {
	if _, err := in.Seek(0, io.SeekStart); err != nil {
		return nil, fmt.Errorf("reading a bundle: %w", err)
	}
	r := bufio.NewReader(in)
	line, err := readLine(r)
	for n := 0; err == nil; n++ {
		if line, err = readLine(r); err != nil || bytes.HasPrefix(line, []byte(signatureLine)) {
			break
		}
		var v Recording
		if err = decode(line, &v); err == nil && (n >= len(hashes) || v.Hash() != hashes[n]) {
			err = errors.New("it holds another recording than it speaks of")
		}
		all = append(all, v)
	}
	if err == nil && len(all) != len(hashes) {
		err = fmt.Errorf("it speaks of %d recordings and holds %d", len(hashes), len(all))
	}
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrBundle, err)
	}
	return all, nil
}

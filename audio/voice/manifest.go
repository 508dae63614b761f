package voice

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"strings"
)

// The file format of a pack.
const (
	Format       = "voice-pack/1"
	ManifestName = "manifest.json"
	FileRate     = 24000 // samples a second in the files
	Rate         = 48000 // samples a second of decoded clips: exactly twice
)

const (
	longestClip = 60 * Rate // samples
	longestSkip = FileRate  // samples
)

// Manifest says what is in a pack.
type Manifest struct {
	Format      string     `json:"format"`
	Language    string     `json:"language"`
	Voice       string     `json:"voice"`   // who or what speaks
	Licence     string     `json:"licence"` // in a word; the folder has its text
	Rate        int        `json:"rate"`    // of the files
	Fingerprint string     `json:"fingerprint"`
	Clips       []ClipInfo `json:"clips"` // in order of id
}

// ClipInfo is one clip of a pack.
type ClipInfo struct {
	ID      string  `json:"id"`
	Text    string  `json:"text"`
	File    string  `json:"file"`
	Samples int     `json:"samples"` // length at Rate after trimming; even
	Skip    int     `json:"skip"`    // decoded samples before the first, at FileRate
	LUFS    float64 `json:"lufs"`    // loudness of the clip repeated without a gap
	PeakDB  float64 `json:"peak_db"` // true peak, dBTP
	SHA256  string  `json:"sha256"`  // of the file
}

// Fingerprinted is the pack's fingerprint: SHA-256 over the manifest's clips,
// whose own sums cover their files.
func (m Manifest) Fingerprinted() string {
	h := sha256.New()
	fmt.Fprintf(h, "%s\n%s\n%d\n", m.Format, m.Language, m.Rate)
	for _, c := range m.Clips {
		fmt.Fprintf(h, "%q %q %q %d %d %s\n", c.ID, c.Text, c.File, c.Samples, c.Skip, c.SHA256)
	}
	return hex.EncodeToString(h.Sum(nil))
}

// Encode writes a manifest with one clip a line, its fingerprint made anew.
func (m Manifest) Encode() ([]byte, error) {
	m.Fingerprint = m.Fingerprinted()
	clips := m.Clips
	m.Clips = nil
	head, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("writing a voice pack's manifest: %w", err)
	}
	var b bytes.Buffer
	b.Write(bytes.TrimSuffix(head, []byte("null\n}")))
	b.WriteString("[\n")
	for i, c := range clips {
		line, err := json.Marshal(c)
		if err != nil {
			return nil, fmt.Errorf("writing clip %q of a voice pack's manifest: %w", c.ID, err)
		}
		b.WriteString("    " + string(line))
		if i < len(clips)-1 {
			b.WriteByte(',')
		}
		b.WriteByte('\n')
	}
	b.WriteString("  ]\n}\n")
	return b.Bytes(), nil
}

func readManifest(fsys fs.FS) (Manifest, error) {
	var m Manifest
	text, err := fs.ReadFile(fsys, ManifestName)
	if err != nil {
		return m, fmt.Errorf("opening a voice pack: %w", err)
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(&m); err != nil {
		return m, fmt.Errorf("reading a voice pack's %s: %w", ManifestName, err)
	}
	if m.Format != Format {
		return m, fmt.Errorf("the voice pack's format is %q; this program reads %q", m.Format, Format)
	}
	if m.Rate != FileRate {
		return m, fmt.Errorf("the voice pack's files have %d samples a second; this program plays %d", m.Rate, FileRate)
	}
	return m, nil
}

// check says what is wrong with a clip and its file; nil for nothing.
func (c ClipInfo) check(fsys fs.FS) error {
	switch {
	case c.ID == "":
		return errors.New("it has no id")
	case !fs.ValidPath(c.File) || strings.Contains(c.File, "/"):
		return fmt.Errorf("its file %q is not in the pack's folder", c.File)
	case c.Samples <= 0 || c.Samples > longestClip || c.Samples%2 != 0:
		return fmt.Errorf("its length of %d samples is not an even number from 2 to %d", c.Samples, longestClip)
	case c.Skip < 0 || c.Skip > longestSkip:
		return fmt.Errorf("its skip of %d samples is not from 0 to %d", c.Skip, longestSkip)
	}
	data, err := fs.ReadFile(fsys, c.File)
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("its file %s is missing", c.File)
	}
	if err != nil {
		return err
	}
	if sum := sha256.Sum256(data); hex.EncodeToString(sum[:]) != c.SHA256 {
		return fmt.Errorf("its file %s is damaged", c.File)
	}
	return nil
}

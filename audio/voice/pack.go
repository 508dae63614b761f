package voice

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"
)

// Pack is an opened voice pack. It is immutable.
type Pack struct {
	fsys     fs.FS
	manifest Manifest
	index    map[string]int // id → place in manifest.Clips
}

// Open reads the pack in fsys and refuses one that is damaged or incomplete,
// naming every clip that is wrong.
func Open(fsys fs.FS) (*Pack, error) {
	m, err := readManifest(fsys)
	if err != nil {
		return nil, err
	}
	p := &Pack{fsys: fsys, manifest: m, index: make(map[string]int, len(m.Clips))}
	var wrong []error
	for i, c := range m.Clips {
		if err := c.check(fsys); err != nil {
			wrong = append(wrong, fmt.Errorf("clip %q: %w", c.ID, err))
		} else if _, twice := p.index[c.ID]; twice {
			wrong = append(wrong, fmt.Errorf("clip %q: it is there twice", c.ID))
		}
		p.index[c.ID] = i
	}
	if len(m.Clips) == 0 {
		wrong = append(wrong, errors.New("it has no clips"))
	}
	if len(wrong) == 0 && m.Fingerprint != m.Fingerprinted() {
		wrong = append(wrong, fmt.Errorf("its %s was changed by hand: the fingerprint does not fit", ManifestName))
	}
	if len(wrong) > 0 {
		return nil, fmt.Errorf("the voice pack is not whole: %w", errors.Join(wrong...))
	}
	return p, nil
}

// Length is the length of a clip in samples at 48 kHz; false for one the pack
// does not have.
func (p *Pack) Length(id string) (int, bool) {
	c, ok := p.Info(id)
	return c.Samples, ok
}

// Info is what the manifest says about a clip; false for one the pack does
// not have.
func (p *Pack) Info(id string) (ClipInfo, bool) {
	i, ok := p.index[id]
	if !ok {
		return ClipInfo{}, false
	}
	return p.manifest.Clips[i], true
}

// Missing lists those of ids the pack does not have, in their order.
func (p *Pack) Missing(ids []string) []string {
	var out []string
	for _, id := range ids {
		if _, ok := p.index[id]; !ok {
			out = append(out, id)
		}
	}
	return out
}

// Fingerprint identifies the pack: SHA-256 in hexadecimal over its manifest
// and files.
func (p *Pack) Fingerprint() string { return p.manifest.Fingerprint }

// Manifest gives a copy of the pack's manifest.
func (p *Pack) Manifest() Manifest {
	m := p.manifest
	m.Clips = slices.Clone(m.Clips)
	return m
}

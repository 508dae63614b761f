package script

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"evenbell/coach"
)

//go:embed *.toml
var files embed.FS

// Format is the version of the script files this program reads.
const Format = "script/1"

// Clip is one recording a voice pack has: its id, which is safe as a file
// name, and the words spoken in it.
type Clip struct {
	ID, Text string
	Brisk    bool // said inside a movement: to be spoken short
	After    Join // how the sentence goes on; only in what Say gives
	Typed    bool // what staff typed: no pack must have it
}

// Script is the words of one language. It is immutable.
type Script struct {
	lang      string
	version   string
	grammar   grammar
	say       map[coach.PhraseID]map[string]template
	atHome    map[coach.PhraseID]map[string]template // instead, where nobody of staff is near
	exercises map[string]exerciseWords
	own       map[string]coach.OwnExercise
	standIn   map[string][]string        // slot → what is said in place of what staff typed
	calls     map[string]string          // call word of a plan → as it is spoken
	common    map[string]map[string]bool // slot → spoken values recorded with the words around them
	clips     map[string]Clip
}

// file is a script as it is written.
type file struct {
	Format   string                   `toml:"format"`
	Language string                   `toml:"language"`
	Say      map[string]any           `toml:"say"`
	AtHome   map[string]any           `toml:"at-home"`
	Brisk    []coach.PhraseID         `toml:"brisk"` // sentences that fall inside a movement
	Common   commonValues             `toml:"common"`
	Calls    map[string]string        `toml:"calls"`
	StandIn  map[string]string        `toml:"stand-in"`
	Words    words                    `toml:"words"`
	Exercise map[string]exerciseWords `toml:"exercise"`
}

// Load gives the script of a language, such as "en".
func Load(lang string) (*Script, error) {
	text, err := files.ReadFile(lang + ".toml")
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("there is no script %q; there are %s", lang, strings.Join(Languages(), ", "))
	}
	if err != nil {
		return nil, fmt.Errorf("reading the script %q: %w", lang, err)
	}
	s, err := parse(text)
	if err != nil {
		return nil, fmt.Errorf("reading the script %q: %w", lang, err)
	}
	return s, nil
}

// Languages lists the languages there is a script for, in alphabetical order.
func Languages() []string { return slices.Sorted(maps.Keys(grammars)) }

func parse(text []byte) (*Script, error) {
	var f file
	d := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields()
	if err := d.Decode(&f); err != nil {
		var strict *toml.StrictMissingError
		if errors.As(err, &strict) {
			return nil, fmt.Errorf("%s", strict.String())
		}
		return nil, err
	}
	if f.Format != Format {
		return nil, fmt.Errorf("the format is %q; this program reads %q", f.Format, Format)
	}
	newGrammar, ok := grammars[f.Language]
	if !ok {
		return nil, fmt.Errorf("there is no grammar for the language %q", f.Language)
	}
	g, err := newGrammar(f.Words)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(text)
	s := &Script{lang: f.Language, version: hex.EncodeToString(sum[:]), grammar: g, exercises: f.Exercise, calls: f.Calls, clips: map[string]Clip{}}
	if s.say, err = readTemplates(f.Say, g.forms()); err != nil {
		return nil, err
	}
	if s.atHome, err = readTemplates(f.AtHome, g.forms()); err != nil {
		return nil, fmt.Errorf("at home: %w", err)
	}
	s.common = f.Common.spoken(g)
	if s.standIn, err = readStandIns(f.StandIn); err != nil {
		return nil, err
	}
	return s, s.collect(f)
}

// Version tells these words from any others: the SHA-256, in hexadecimal, of
// the file they stand in.
func (s *Script) Version() string { return s.version }

// Language is the language's code.
func (s *Script) Language() string { return s.lang }

// Say gives the clips that speak a phrase, in order, with other words in place
// of what staff typed. The zero Phrase, and one the script has no words for,
// says nothing.
func (s *Script) Say(p coach.Phrase) []Clip { return s.clipsOf(p, s.value) }

// Text gives the whole sentence that Say speaks, with its punctuation; empty
// where Say says nothing.
func (s *Script) Text(p coach.Phrase) string { return s.textOf(p, s.value) }

func (s *Script) clipsOf(p coach.Phrase, value valuer) []Clip {
	var out []Clip
	for _, seg := range s.template(p) {
		if texts, _, ok := s.fill(seg, p, value); ok {
			for _, t := range texts {
				c := newClip(t.text)
				if t.typed {
					c.Text = t.text
				} else {
					c = s.clip(t.text)
				}
				c.After, c.Typed = t.after, t.typed
				out = append(out, c)
			}
		}
	}
	return out
}

func (s *Script) textOf(p coach.Phrase, value valuer) string {
	var out []string
	for _, seg := range s.template(p) {
		if _, display, ok := s.fill(seg, p, value); ok {
			out = append(out, display)
		}
	}
	return sentence(strings.Join(out, " "))
}

// Clips lists every clip a pack of this language must have, by id.
func (s *Script) Clips() []Clip { return byID(s.clips) }

func byID(clips map[string]Clip) []Clip {
	return slices.SortedFunc(maps.Values(clips), func(a, b Clip) int { return strings.Compare(a.ID, b.ID) })
}

// CallWords lists the words a plan may call a person by, in alphabetical order;
// a language speaks each with a word of its own.
func (s *Script) CallWords() []string { return slices.Sorted(maps.Keys(s.calls)) }

// clip is the clip for words; where two pieces have the same words in other
// letters or with other punctuation, both are the clip collected first.
func (s *Script) clip(text string) Clip {
	c := newClip(text)
	if known, ok := s.clips[c.ID]; ok {
		return known
	}
	return c
}

func (s *Script) template(p coach.Phrase) template {
	v := variant(p)
	if t, ok := s.atHome[p.ID][v]; ok && p.AtHome {
		return t
	}
	return s.say[p.ID][v]
}

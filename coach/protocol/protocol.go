package protocol

import (
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"evenbell/coach"
)

// Confidence says how sure we are of a source.
type Confidence string

// The confidences.
const (
	Seen       Confidence = "seen in the source"
	Quoted     Confidence = "quoted by a secondary page"
	Computed   Confidence = "computed here"
	FromMemory Confidence = "from memory"
	NoSource   Confidence = "no source"
	OwnChoice  Confidence = "own choice"
	ClinicsOwn Confidence = "the clinic's own"
)

var confidences = []Confidence{Seen, Quoted, Computed, FromMemory, NoSource, OwnChoice, ClinicsOwn}

// Source is where a value comes from.
type Source struct {
	Name       string
	Edition    string // year or version; empty where the source has none
	Says       string // in our words
	Confidence Confidence
}

// String is the source in one short phrase, such as
// "RACGP HANDI; seen in the source".
func (s Source) String() string {
	name := s.Name
	if s.Edition != "" {
		name += ", " + s.Edition
	}
	return name + "; " + string(s.Confidence)
}

// SignOff is who in the clinic stands for a value; the zero SignOff is nobody.
type SignOff struct {
	By string
	On coach.Day
}

// Limit is one number.
type Limit struct {
	Key         Key
	Title       string
	Value       float64
	Unit        string  // UCUM where it has one, else a plain word
	Least, Most float64 // what a clinic may set, both included
	Sources     []Source
	SignOff     SignOff
}

// Verdict is what follows from a condition.
type Verdict string

// The verdicts, from none to worst.
const (
	MayStart Verdict = "may start"
	Ask      Verdict = "ask the supervisor"
	NotToday Verdict = "not today"
)

var verdicts = []Verdict{MayStart, Ask, NotToday}

// Worse reports whether v is worse than w.
func (v Verdict) Worse(w Verdict) bool { return slices.Index(verdicts, v) > slices.Index(verdicts, w) }

// Condition is something that is so or not so of a patient.
type Condition struct {
	Key     Key
	Title   string
	Verdict Verdict
	Sources []Source
	SignOff SignOff
}

// Protocol is a full set of values. It is immutable.
type Protocol struct {
	name, edition string
	limits        []Limit
	conditions    []Condition
	place         map[Key]int // of each limit
}

//go:embed default.toml
var defaultText []byte

// Default is the set of values built in.
var Default = sync.OnceValue(func() *Protocol {
	p, faults := readDefault("default.toml", defaultText)
	if len(faults) > 0 {
		panic("the built-in protocol is broken: " + faults[0].String())
	}
	return p
})

// Name is what the protocol calls itself, with its edition.
func (p *Protocol) Name() string {
	if p.edition == "" {
		return p.name
	}
	return p.name + ", " + p.edition
}

// Limits are all numbers, in the order they are written about.
func (p *Protocol) Limits() []Limit { return slices.Clone(p.limits) }

// Conditions are all conditions, in the order they are written about.
func (p *Protocol) Conditions() []Condition { return slices.Clone(p.conditions) }

// Limit is the number at k. It panics on a key that is no number's: keys are
// constants of this package.
func (p *Protocol) Limit(k Key) Limit {
	if i, ok := p.place[k]; ok {
		return p.limits[i]
	}
	panic(fmt.Sprintf("protocol: no limit is called %q", k))
}

// Condition is the condition at k. It panics on a key that is no condition's.
func (p *Protocol) Condition(k Key) Condition {
	for _, c := range p.conditions {
		if c.Key == k {
			return c
		}
	}
	panic(fmt.Sprintf("protocol: no condition is called %q", k))
}

// Number is the value at k, in the limit's unit.
func (p *Protocol) Number(k Key) float64 { return p.Limit(k).Value }

// Int is the value at k as the nearest whole number.
func (p *Protocol) Int(k Key) int { return int(math.Round(p.Number(k))) }

// Seconds is the value at k, which is in seconds or hours, as a duration. It
// panics where k is no time.
func (p *Protocol) Seconds(k Key) time.Duration {
	l := p.Limit(k)
	switch l.Unit {
	case "s":
		return time.Duration(math.Round(l.Value * float64(time.Second)))
	case "h":
		return time.Duration(math.Round(l.Value * float64(time.Hour)))
	}
	panic(fmt.Sprintf("protocol: %s is in %s, not a time", k, l.Unit))
}

// Allowed is the value at k with its unit and source in one short phrase, for
// a message about what is allowed: "30 s (common practice; no source)".
func (p *Protocol) Allowed(k Key) string {
	l := p.Limit(k)
	return fmt.Sprintf("%s (%s)", l.Amount(), l.Sources[0])
}

// Amount is the value with its unit: "30 s", "1 repetition".
func (l Limit) Amount() string {
	unit := l.Unit
	if l.Value == 1 && counted[unit] {
		unit = strings.TrimSuffix(unit, "s")
	}
	return number(l.Value) + " " + unit
}

// counted are the units that are words, in the plural.
var counted = map[string]bool{"repetitions": true, "sets": true, "exercises": true, "beats": true, "levels": true,
	"weeks": true, "days": true, "sessions": true, "times": true, "points": true}

// Fingerprint is the SHA-256 of all values and verdicts, in hexadecimal. It is
// the same for two protocols exactly when they decide alike; names, sources
// and sign-offs do not change it.
func (p *Protocol) Fingerprint() string {
	var b strings.Builder
	for _, l := range p.limits {
		fmt.Fprintf(&b, "%s=%s\n", l.Key, number(l.Value))
	}
	for _, c := range p.conditions {
		fmt.Fprintf(&b, "%s=%s\n", c.Key, c.Verdict)
	}
	sum := sha256.Sum256([]byte(b.String()))
	return hex.EncodeToString(sum[:])
}

// number writes a value in plain decimals, as short as it can be.
func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

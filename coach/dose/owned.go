package dose

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"evenbell/coach"
)

// BandLevel is one band in the clinic's own order, the lightest being 1.
type BandLevel struct {
	Level   int
	Newtons float64 // at the stretch the clinic trains at, from its maker's sheet; 0 where not entered
}

// Owned is what a clinic has to lift and pull: the only loads ever proposed.
// The zero Owned is a clinic with nothing.
type Owned struct {
	dumbbells []coach.Load // ascending, no two of one mass
	bands     []BandLevel  // ascending
}

// NewOwned checks and sorts what a clinic owns. Of two dumbbells of the same
// mass in different units the first is kept.
func NewOwned(dumbbells []coach.Load, bands []BandLevel) (Owned, error) {
	var o Owned
	for _, d := range dumbbells {
		if d.Kind() != coach.DumbbellLoad || d.Milli() <= 0 {
			return Owned{}, fmt.Errorf("%s is not the mass of a dumbbell", d)
		}
		o.dumbbells = append(o.dumbbells, d)
	}
	slices.SortStableFunc(o.dumbbells, compareLoads)
	o.dumbbells = slices.CompactFunc(o.dumbbells, func(a, b coach.Load) bool { return mass(a) == mass(b) })

	o.bands = slices.Clone(bands)
	slices.SortFunc(o.bands, func(a, b BandLevel) int { return a.Level - b.Level })
	for i, b := range o.bands {
		switch {
		case b.Level < 1:
			return Owned{}, fmt.Errorf("band %d: bands are numbered from 1", b.Level)
		case b.Newtons < 0 || b.Newtons > 10000 || math.IsNaN(b.Newtons):
			return Owned{}, fmt.Errorf("band %d: %g newtons is no force of a band", b.Level, b.Newtons)
		case i > 0 && b.Level == o.bands[i-1].Level:
			return Owned{}, fmt.Errorf("band %d is given twice", b.Level)
		case i > 0 && b.Newtons > 0 && b.Newtons <= o.bands[i-1].Newtons:
			return Owned{}, fmt.Errorf("band %d pulls no harder than band %d; the order is from light to heavy", b.Level, o.bands[i-1].Level)
		}
	}
	return o, nil
}

const ownedForms = `write "1, 1.5, 2 kg", "2, 5 lb", "band 1, 2, 3", or the bands' forces from light to heavy as "band 12, 18 N"; separate kinds with a semicolon`

// ParseOwned reads what a clinic owns from one line, such as
// "1, 1.5, 2, 2.5 kg; band 1, 2, 3".
func ParseOwned(s string) (Owned, error) {
	var dumbbells []coach.Load
	var bands []BandLevel
	for _, part := range strings.Split(s, ";") {
		part = strings.TrimSpace(part)
		var err error
		if list, ok := strings.CutPrefix(part, "band"); ok {
			bands, err = parseBands(bands, strings.TrimSpace(strings.TrimPrefix(list, "s")))
		} else {
			dumbbells, err = parseDumbbells(dumbbells, part)
		}
		if err != nil {
			return Owned{}, fmt.Errorf("%q: %w; %s", part, err, ownedForms)
		}
	}
	return NewOwned(dumbbells, bands)
}

func parseDumbbells(to []coach.Load, s string) ([]coach.Load, error) {
	list, unit := s, ""
	for _, u := range []coach.Unit{coach.Kilogram, coach.Pound} {
		if before, ok := strings.CutSuffix(s, string(u)); ok {
			list, unit = before, string(u)
		}
	}
	if unit == "" {
		return nil, fmt.Errorf("no unit")
	}
	for _, n := range strings.Split(list, ",") {
		l, err := coach.ParseLoad(strings.TrimSpace(n) + " " + unit)
		if err != nil {
			return nil, err
		}
		to = append(to, l)
	}
	return to, nil
}

func parseBands(to []BandLevel, s string) ([]BandLevel, error) {
	list, forces := strings.CutSuffix(s, "N")
	for i, text := range strings.Split(list, ",") {
		text = strings.TrimSpace(text)
		if !forces {
			n, err := strconv.Atoi(text)
			if err != nil {
				return nil, fmt.Errorf("%q is not a band's number", text)
			}
			to = append(to, BandLevel{Level: n})
			continue
		}
		f, err := strconv.ParseFloat(text, 64)
		if err != nil || !(f > 0) {
			return nil, fmt.Errorf("%q is not a force in newtons", text)
		}
		to = append(to, BandLevel{Level: i + 1, Newtons: f})
	}
	return to, nil
}

// Loads are all owned loads of a kind, from light to heavy.
func (o Owned) Loads(k coach.LoadKind) []coach.Load {
	switch k {
	case coach.DumbbellLoad:
		return slices.Clone(o.dumbbells)
	case coach.BandLoad:
		var out []coach.Load
		for _, b := range o.bands {
			out = append(out, coach.Band(b.Level))
		}
		return out
	}
	return nil
}

// AtMost is the heaviest owned dumbbell of no more than grams; false where
// there is none.
func (o Owned) AtMost(grams float64) (coach.Load, bool) {
	var best coach.Load
	ok := false
	for _, d := range o.dumbbells {
		if d.Grams() <= grams {
			best, ok = d, true
		}
	}
	return best, ok
}

// heavier are the owned loads of l's kind above it, from light to heavy. Body
// weight has none: what replaces it is another stage or another exercise.
func (o Owned) heavier(l coach.Load) []coach.Load {
	all := o.Loads(l.Kind())
	for i, c := range all {
		if compareLoads(c, l) > 0 {
			return all[i:]
		}
	}
	return nil
}

// lighter is the heaviest owned load of l's kind below it.
func (o Owned) lighter(l coach.Load) (coach.Load, bool) {
	var best coach.Load
	ok := false
	for _, c := range o.Loads(l.Kind()) {
		if compareLoads(c, l) < 0 {
			best, ok = c, true
		}
	}
	return best, ok
}

// resistance is l in whole numbers that can be compared within its kind;
// false where it was never measured.
func (o Owned) resistance(l coach.Load) (int64, bool) {
	switch l.Kind() {
	case coach.DumbbellLoad:
		return mass(l), true
	case coach.BandLoad:
		for _, b := range o.bands {
			if b.Level == l.Band() && b.Newtons > 0 {
				return int64(math.Round(b.Newtons * 1e6)), true
			}
		}
	}
	return 0, false
}

// mass is a dumbbell's mass in units of 10 ng, in which both the gram and the
// pound are whole numbers.
func mass(l coach.Load) int64 {
	if l.Unit() == coach.Pound {
		return l.Milli() * 45359237 // 1 lb is 453.59237 g exactly
	}
	return l.Milli() * 100000000
}

// compareLoads is negative where a is lighter than b, positive where it is
// heavier. Loads of different kinds cannot be compared: 0.
func compareLoads(a, b coach.Load) int {
	switch {
	case a.Kind() != b.Kind():
		return 0
	case a.Kind() == coach.BandLoad:
		return a.Band() - b.Band()
	}
	return cmp.Compare(mass(a), mass(b))
}

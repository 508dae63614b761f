package coach

import (
	"fmt"
	"strconv"
	"strings"
)

// Unit is a unit of mass a clinic writes loads in.
type Unit string

// The units of mass.
const (
	Kilogram Unit = "kg"
	Pound    Unit = "lb"
)

// GramsPerPound is exact: 1 lb = 0.453 592 37 kg (UCUM [lb_av]).
const GramsPerPound = 453.59237

// LoadKind says what resists the movement.
type LoadKind string

// The kinds of load.
const (
	BodyLoad     LoadKind = "body"     // the body alone
	DumbbellLoad LoadKind = "dumbbell" // one dumbbell's mass
	BandLoad     LoadKind = "band"     // a band's place in the clinic's own order
)

// Load is what resists one repetition. The zero Load is body weight.
// It is comparable, keeps the unit it was written in, and is never converted
// for speech.
type Load struct {
	kind  LoadKind
	milli int64 // thousandths of Unit
	unit  Unit
	band  int
}

// Body is the load of the body alone.
func Body() Load { return Load{} }

// Band is the nth band in the clinic's own order, the lightest being 1.
func Band(n int) Load { return Load{kind: BandLoad, band: n} }

// Dumbbell is a dumbbell of milli thousandths of a unit.
func Dumbbell(milli int64, u Unit) Load { return Load{kind: DumbbellLoad, milli: milli, unit: u} }

// Kind says what kind of load l is.
func (l Load) Kind() LoadKind {
	if l.kind == "" {
		return BodyLoad
	}
	return l.kind
}

// Milli is the mass in thousandths of Unit; 0 for a band or the body.
func (l Load) Milli() int64 { return l.milli }

// Unit is the unit a dumbbell is written in; empty otherwise.
func (l Load) Unit() Unit { return l.unit }

// Band is the band's place in the clinic's order; 0 otherwise.
func (l Load) Band() int { return l.band }

// Grams is the mass of a dumbbell in grams; 0 for a band or the body.
func (l Load) Grams() float64 {
	if l.unit == Pound {
		return float64(l.milli) / 1000 * GramsPerPound
	}
	return float64(l.milli)
}

// String writes l as a plan does: "2.5 kg", "5 lb", "band 2" or "body".
func (l Load) String() string {
	switch l.Kind() {
	case DumbbellLoad:
		return Decimal(l.milli) + " " + string(l.unit)
	case BandLoad:
		return fmt.Sprintf("band %d", l.band)
	default:
		return "body"
	}
}

// MarshalText writes l as String does.
func (l Load) MarshalText() ([]byte, error) { return []byte(l.String()), nil }

// UnmarshalText reads what ParseLoad reads.
func (l *Load) UnmarshalText(b []byte) error {
	v, err := ParseLoad(string(b))
	if err != nil {
		return err
	}
	*l = v
	return nil
}

// Decimal writes thousandths without trailing zeros: 2500 is "2.5".
func Decimal(milli int64) string {
	s := fmt.Sprintf("%d.%03d", milli/1000, milli%1000)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

const loadForms = `write "2.5 kg", "5 lb", "band 2" or "body"`

// ParseLoad reads a load as a plan writes it. It refuses zero, negative and
// more than three decimals; how much is too much is the protocol's matter.
func ParseLoad(s string) (Load, error) {
	word := strings.Fields(s)
	switch {
	case len(word) == 1 && word[0] == "body":
		return Body(), nil
	case len(word) == 2 && word[0] == "band":
		n, err := strconv.Atoi(word[1])
		if err != nil || n < 1 {
			return Load{}, fmt.Errorf("%q is not a load: a band has a number from 1; %s", s, loadForms)
		}
		return Band(n), nil
	case len(word) == 2 && (word[1] == string(Kilogram) || word[1] == string(Pound)):
		milli, err := parseMilli(word[0])
		if err != nil {
			return Load{}, fmt.Errorf("%q is not a load: %w; %s", s, err, loadForms)
		}
		return Dumbbell(milli, Unit(word[1])), nil
	}
	return Load{}, fmt.Errorf("%q is not a load; %s", s, loadForms)
}

func parseMilli(s string) (int64, error) {
	whole, frac, _ := strings.Cut(s, ".")
	if len(frac) > 3 || len(whole) > 6 || whole == "" || strings.HasSuffix(s, ".") ||
		strings.Trim(whole+frac, "0123456789") != "" {
		return 0, fmt.Errorf("the mass is a plain number with at most three decimals")
	}
	n, err := strconv.ParseInt(whole+frac+strings.Repeat("0", 3-len(frac)), 10, 64)
	if err != nil || n == 0 {
		return 0, fmt.Errorf("the mass is more than zero")
	}
	return n, nil
}

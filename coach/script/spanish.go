package script

import (
	"fmt"
	"strings"

	"evenbell/coach"
)

// spanish puts numbers, times and loads into Spanish. A number that ends in
// one takes the gender of what it counts: "un kilo", "una vez", "veintiún
// segundos", "treinta y una veces"; counted by itself it is "uno".
type spanish struct {
	word    map[string]string
	numbers []string // 0 to 29
	tens    []string // 30, 40 … 90
	letters []string // the names of A to Z
}

// The forms of a Spanish number besides counting.
const (
	masculine = "m"
	feminine  = "f"
)

// genders are those of what Spanish counts, by the word for one of it.
var genders = map[string]string{"time": feminine, "second": masculine, "minute": masculine, "kg": masculine, "lb": feminine}

// spanishWords are the words Spanish needs besides its numbers and letters.
var spanishWords = []string{"one-m", "one-f", "twenty-one-m", "twenty-one-f", "and", "hundred",
	"time", "times", "second", "seconds", "minute", "minutes", "at-one", "at", "less", "sharp", "past-quarter", "past-half", "point", "band",
	"kg", "kgs", "kg-half", "kg-quarter", "kg-three", "half-kg", "quarter-kg", "three-kg",
	"lb", "lbs", "lb-half", "lb-quarter", "lb-three", "half-lb", "quarter-lb", "three-lb"}

func newSpanish(w words) (grammar, error) {
	e := &spanish{}
	var err error
	if e.numbers, err = w.list("numbers", 30); err != nil {
		return nil, err
	}
	if e.tens, err = w.list("tens", 7); err != nil {
		return nil, err
	}
	if e.letters, err = w.list("letters", 26); err != nil {
		return nil, err
	}
	e.word, err = w.named(spanishWords)
	return e, err
}

func (*spanish) forms() []string { return []string{masculine, feminine} }

func (e *spanish) letter(r rune) []string { return []string{e.letters[r-'A']} }

// number gives 0 to 60 as one clip, to 99 as tens and units, 100 as one;
// beyond that digit by digit.
func (e *spanish) number(n int, form string) []string {
	switch {
	case n < 0:
		return nil
	case n < 30:
		return []string{e.small(n, form)}
	case n < 100 && n%10 == 0:
		return []string{e.tens[n/10-3]}
	case n <= 60:
		return []string{e.tens[n/10-3] + " " + e.word["and"] + " " + e.small(n%10, form)}
	case n < 100:
		return []string{e.tens[n/10-3] + " " + e.word["and"], e.small(n%10, form)}
	case n == 100:
		return []string{e.word["hundred"]}
	}
	return e.digits(fmt.Sprint(n))
}

// small is a number under 30.
func (e *spanish) small(n int, form string) string {
	switch {
	case n == 1 && form != counting:
		return e.word["one-"+form]
	case n == 21 && form != counting:
		return e.word["twenty-one-"+form]
	}
	return e.numbers[n]
}

func (e *spanish) digits(s string) []string {
	var out []string
	for _, r := range s {
		out = append(out, e.numbers[r-'0'])
	}
	return out
}

// counted is a number of things, in their gender.
func (e *spanish) counted(n int, one string) []string {
	if n < 0 {
		return nil
	}
	noun := e.word[one]
	if n != 1 {
		noun = e.word[one+"s"]
	}
	return append(e.number(n, genders[one]), noun)
}

func (e *spanish) times(n int) []string { return e.counted(n, "time") }

// time is "cuarenta y cinco segundos", "un minuto" or "un minuto y treinta
// segundos".
func (e *spanish) time(seconds int) []string {
	minutes, rest := seconds/60, seconds%60
	switch {
	case seconds < 0:
		return nil
	case minutes == 0:
		return e.counted(rest, "second")
	case rest == 0:
		return e.counted(minutes, "minute")
	}
	out := append(e.counted(minutes, "minute"), e.word["and"])
	return append(out, e.counted(rest, "second")...)
}

// clock is "a las nueve en punto", "a la una y diez", "a las nueve y media",
// "a las diez menos veinte".
func (e *spanish) clock(minutes int) []string {
	if minutes < 0 || minutes >= 24*60 {
		return nil
	}
	hour, past := minutes/60, minutes%60
	if past > 30 {
		hour++
	}
	hour = (hour+11)%12 + 1
	out := []string{e.word["at"]}
	if hour == 1 {
		out = []string{e.word["at-one"]}
	}
	out = append(out, e.number(hour, feminine)...)
	switch {
	case past == 0:
		return append(out, e.word["sharp"])
	case past > 30:
		return append(append(out, e.word["less"]), e.part(60-past)...)
	}
	return append(append(out, e.word["and"]), e.part(past)...)
}

// part is the minutes of a time of day.
func (e *spanish) part(n int) []string {
	switch n {
	case 15:
		return []string{e.word["past-quarter"]}
	case 30:
		return []string{e.word["past-half"]}
	}
	return e.number(n, counting)
}

// load is "dos kilos y medio", "cinco libras", "banda dos"; nothing for the
// body, which a sentence names in its own words.
func (e *spanish) load(l coach.Load) []string {
	switch l.Kind() {
	case coach.BandLoad:
		return append([]string{e.word["band"]}, e.number(l.Band(), counting)...)
	case coach.DumbbellLoad:
		return e.mass(l.Milli(), string(l.Unit()))
	}
	return nil
}

// mass names halves and quarters after the unit, "dos kilos y medio", and
// reads any other part digit by digit, "dos coma dos siete kilos".
func (e *spanish) mass(milli int64, unit string) []string {
	whole, part := int(milli/1000), milli%1000
	fraction, named := fractions[part]
	switch {
	case part == 0:
		return e.counted(whole, unit)
	case whole == 0 && named:
		return []string{e.word[fraction+"-"+unit]}
	case named:
		return append(e.counted(whole, unit), e.word[unit+"-"+fraction])
	}
	_, decimals, _ := strings.Cut(coach.Decimal(milli), ".")
	out := append(e.number(whole, counting), e.word["point"])
	return append(append(out, e.digits(decimals)...), e.word[unit+"s"])
}

func (e *spanish) atoms() []string { return atoms(spanishWords, e.word) }

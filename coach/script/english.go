package script

import (
	"fmt"
	"strings"

	"evenbell/coach"
)

// english puts numbers, times and loads into English.
type english struct {
	word    map[string]string
	numbers []string // 0 to 19
	tens    []string // 20, 30 … 90
}

// englishWords are the words English needs besides its numbers.
var englishWords = []string{"hundred", "once", "times", "second", "seconds", "minute", "minutes",
	"past", "to", "o-clock", "minute-past", "minutes-past", "minute-to", "minutes-to", "quarter-past", "half-past", "quarter-to",
	"point", "half", "quarter", "three", "band", "kg", "kgs", "half-kg", "quarter-kg", "three-kg",
	"lb", "lbs", "half-lb", "quarter-lb", "three-lb"}

func newEnglish(w words) (grammar, error) {
	e := &english{}
	var err error
	if e.numbers, err = w.list("numbers", 20); err != nil {
		return nil, err
	}
	if e.tens, err = w.list("tens", 8); err != nil {
		return nil, err
	}
	e.word, err = w.named(englishWords)
	return e, err
}

// number gives 0 to 60 as one clip, to 99 as tens and units, 100 as one;
// beyond that digit by digit.
func (e *english) number(n int, _ string) []string {
	switch {
	case n < 0:
		return nil
	case n <= 60:
		return []string{e.small(n)}
	case n < 100 && n%10 == 0:
		return []string{e.tens[n/10-2]}
	case n < 100:
		return []string{e.tens[n/10-2], e.numbers[n%10]}
	case n == 100:
		return []string{e.word["hundred"]}
	}
	return e.digits(fmt.Sprint(n))
}

func (*english) forms() []string { return nil }

// letter is the capital, which a speaker reads as its name.
func (*english) letter(r rune) []string { return []string{string(r)} }

func (e *english) small(n int) string {
	switch {
	case n < 20:
		return e.numbers[n]
	case n%10 == 0:
		return e.tens[n/10-2]
	}
	return e.tens[n/10-2] + "-" + e.numbers[n%10]
}

func (e *english) digits(s string) []string {
	var out []string
	for _, r := range s {
		out = append(out, e.numbers[r-'0'])
	}
	return out
}

func (e *english) times(n int) []string {
	switch {
	case n < 0:
		return nil
	case n == 1:
		return []string{e.word["once"]}
	}
	return append(e.number(n, counting), e.word["times"])
}

// time is "forty-five seconds", "one minute", "one minute thirty" or, where
// the seconds would be misheard, "two minutes five seconds".
func (e *english) time(seconds int) []string {
	if seconds < 0 {
		return nil
	}
	minutes, rest := seconds/60, seconds%60
	if minutes == 0 {
		return e.counted(rest, "second", "seconds")
	}
	out := e.counted(minutes, "minute", "minutes")
	switch {
	case rest == 0:
		return out
	case rest < 10:
		return append(out, e.counted(rest, "second", "seconds")...)
	}
	return append(out, e.number(rest, counting)...)
}

func (e *english) counted(n int, one, many string) []string {
	if n == 1 {
		many = one
	}
	return append(e.number(n, counting), e.word[many])
}

// clock is "nine o'clock", "ten past nine", "half past nine", "twelve minutes
// to ten".
func (e *english) clock(minutes int) []string {
	if minutes < 0 || minutes >= 24*60 {
		return nil
	}
	hour, past := minutes/60, minutes%60
	switch {
	case past == 0:
		return append(e.hour(hour), e.word["o-clock"])
	case past <= 30:
		return append(e.offset(past, "past"), e.hour(hour)...)
	}
	return append(e.offset(60-past, "to"), e.hour(hour+1)...)
}

func (e *english) hour(h int) []string { return e.number((h+11)%12+1, counting) }

func (e *english) offset(n int, side string) []string {
	switch {
	case n == 15:
		return []string{e.word["quarter-"+side]}
	case n == 30:
		return []string{e.word["half-"+side]}
	case n%5 == 0:
		return append(e.number(n, counting), e.word[side])
	}
	return e.counted(n, "minute-"+side, "minutes-"+side)
}

// load is "two and a half kilograms", "five pounds", "band two"; nothing for
// the body, which a sentence names in its own words.
func (e *english) load(l coach.Load) []string {
	switch l.Kind() {
	case coach.BandLoad:
		return append([]string{e.word["band"]}, e.number(l.Band(), counting)...)
	case coach.DumbbellLoad:
		return e.mass(l.Milli(), string(l.Unit()))
	}
	return nil
}

// fractions are the thousandths that English has words for.
var fractions = map[int64]string{250: "quarter", 500: "half", 750: "three"}

func (e *english) mass(milli int64, unit string) []string {
	whole, part := int(milli/1000), milli%1000
	fraction, named := fractions[part]
	switch {
	case part == 0:
		return e.counted(whole, unit, unit+"s")
	case whole == 0 && named:
		return []string{e.word[fraction+"-"+unit]}
	case named:
		return append(e.number(whole, counting), e.word[fraction], e.word[unit+"s"])
	}
	_, decimals, _ := strings.Cut(coach.Decimal(milli), ".")
	out := append(e.number(whole, counting), e.word["point"])
	return append(append(out, e.digits(decimals)...), e.word[unit+"s"])
}

func (e *english) atoms() []string {
	return atoms(englishWords, e.word)
}

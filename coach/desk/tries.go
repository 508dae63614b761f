package desk

import (
	"strings"
	"sync"
	"time"
)

// How many wrong logins one name from one address, one name, or one address may
// make before it has to wait, and for how long they are remembered. A name
// alone has more, since somebody elsewhere could else keep its owner out.
// Common practice, no source.
const (
	triesOfBoth    = 5
	triesOfName    = 30
	triesOfAddress = 20
	triesKept      = 15 * time.Minute
	triesKnown     = 10_000 // names and addresses remembered at once
)

// How many wrong enrolment codes one address may try, and all together. A code
// bears five: whoever mistypes one to its end can try the next from where they
// are. Common practice, no source.
const (
	enrolsOfAddress = 10
	enrolsOfAll     = 40
)

// tries counts what was guessed wrong, in memory: who can restart the desk has
// no need to guess.
type tries struct {
	mu    sync.Mutex
	wrong map[string][]time.Time
}

func newTries() *tries { return &tries{wrong: map[string][]time.Time{}} }

// limit is how many wrong tries may be counted against something.
type limit struct {
	key  string
	most int
}

// loginLimits are what a login is counted against.
func loginLimits(name, address string) []limit {
	name = strings.ToLower(name) // an account's name is known in any case
	return []limit{{"both " + address + " " + name, triesOfBoth}, {"name " + name, triesOfName}, {"from " + address, triesOfAddress}}
}

// enrolLimits are what an enrolment is counted against.
func enrolLimits(address string) []limit {
	return []limit{{"enrolment from " + address, enrolsOfAddress}, {"enrolment", enrolsOfAll}}
}

// wait is how long a try has to wait; 0 for not at all. A try that may go on is
// counted as wrong at once, so that many at the same time are no way round;
// right takes it back.
func (t *tries) wait(limits []limit, now time.Time) time.Duration {
	t.mu.Lock()
	defer t.mu.Unlock()
	for _, l := range limits {
		if wait := t.left(l.key, l.most, now); wait > 0 {
			return wait
		}
	}
	for _, l := range limits {
		t.add(l.key, now)
	}
	return 0
}

// left is how long a key has to wait, after forgetting what is old.
func (t *tries) left(key string, most int, now time.Time) time.Duration {
	at := t.wrong[key]
	for len(at) > 0 && now.Sub(at[0]) >= triesKept {
		at = at[1:]
	}
	if len(at) == 0 {
		delete(t.wrong, key)
		return 0
	}
	t.wrong[key] = at
	if len(at) < most {
		return 0
	}
	return triesKept - now.Sub(at[len(at)-most])
}

func (t *tries) add(key string, now time.Time) {
	if len(t.wrong) >= triesKnown {
		for k := range t.wrong {
			t.left(k, 1, now)
		}
		for k := range t.wrong {
			if len(t.wrong) < triesKnown {
				break
			}
			delete(t.wrong, k)
		}
	}
	t.wrong[key] = append(t.wrong[key], now)
}

// right takes a try back, and forgets all that was counted against the first of
// its limits.
func (t *tries) right(limits []limit) {
	t.mu.Lock()
	defer t.mu.Unlock()
	delete(t.wrong, limits[0].key)
	for _, l := range limits[1:] {
		if at := t.wrong[l.key]; len(at) > 0 {
			t.wrong[l.key] = at[:len(at)-1]
		}
	}
}

package station

import "evenbell/audio/sink"

// outlet keeps one sink open from session to session, and opens it anew when
// it has gone. One goroutine at a time uses it.
type outlet struct {
	spec  string
	speed float64
	held  sink.Sink
	words string
}

// open gives the sink; its Close leaves it open for the next session.
func (o *outlet) open() (sink.Sink, string, error) {
	if o.held == nil {
		s, words, err := sink.Open(o.spec, o.speed)
		if err != nil {
			return nil, "", err
		}
		o.held, o.words = s, words
	}
	return lent{o}, o.words, nil
}

// close lets the sink go.
func (o *outlet) close() error {
	if o.held == nil {
		return nil
	}
	err := o.held.Close()
	o.held = nil
	return err
}

// gone forgets a sink that failed, so that the next open looks for another.
func (o *outlet) gone(err error) error {
	if err != nil && o.held != nil {
		_ = o.held.Close() // it has failed already, and err says how
		o.held = nil
	}
	return err
}

// lent is the outlet's sink as one session has it.
type lent struct{ o *outlet }

func (l lent) Write(block []int16) error {
	if l.o.held == nil {
		return sink.ErrGone
	}
	return l.o.gone(l.o.held.Write(block))
}

func (l lent) Delay() (int, error) {
	if l.o.held == nil {
		return 0, sink.ErrGone
	}
	n, err := l.o.held.Delay()
	return n, l.o.gone(err)
}

func (l lent) Drop() (int, error) {
	if l.o.held == nil {
		return 0, sink.ErrGone
	}
	n, err := l.o.held.Drop()
	return n, l.o.gone(err)
}

func (lent) Close() error { return nil }

func (l lent) Underruns() int {
	if l.o.held == nil {
		return 0
	}
	return sink.Underruns(l.o.held)
}

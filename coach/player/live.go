package player

import (
	"context"
	"errors"
	"time"

	"evenbell/audio/clock"
	"evenbell/audio/sink"
	"evenbell/coach"
)

// liveBlock is how many samples a live player renders at a time: 10 ms, so
// that a stop waits no longer than that.
const liveBlock = int(coach.SessionRate) / 100

// reopenEvery is how long a live player waits between tries to get a sound
// device back.
const reopenEvery = 500 * time.Millisecond

// Pressed is a press as the button box gives it.
type Pressed struct {
	Button coach.Button
	Time   time.Duration // CLOCK_MONOTONIC when the contact closed
}

// Fault is a part of the station that failed, and what is said of it.
type Fault struct {
	coach.FaultData
	Says coach.Trouble // empty where nothing is said
}

// Going is where the patient goes next, learnt while the session goes on.
type Going struct {
	Next coach.Next
	PCM  []int16 // the place's name as Player.GoesNext takes it
}

// Order is what staff ask of a station from afar; one of the two.
type Order struct {
	Release string          // by whom a stopped station is freed
	Help    *coach.HelpData // who is coming
}

// Live plays a session on a sink as it happens. It owns one goroutine, the
// caller of Run, which waits for nothing but the sink.
type Live struct {
	Player *Player
	// Open opens the sink, at the start and again when it has gone.
	Open func() (sink.Sink, string, error)
	// Presses from the button box.
	Presses <-chan Pressed
	// Faults of other parts, which hold the session; may be nil.
	Faults <-chan Fault
	// Goes tells where the patient goes next; may be nil.
	Goes <-chan Going
	// Orders of staff; may be nil.
	Orders <-chan Order
	// Now reads CLOCK_MONOTONIC.
	Now func() time.Duration
	// Speed is how many times faster than real time the sink plays.
	Speed float64
	// Feed takes what has been heard; it never makes the caller wait.
	Feed *Feed
	// Beat is called after every block; it must not wait. It may be nil.
	Beat func()
	// Record makes the feed carry the samples that were heard, too.
	Record bool

	sink      sink.Sink
	written   coach.Samples // position in the session of the next sample to write
	clock     *clock.Clock
	unheard   []int16       // samples given to written, with Record
	given     coach.Samples // to the feed
	underruns int
	told      coach.Samples // position the feed was last told
}

// Run plays until the session has been heard to its end or ctx is done. It
// fails only where no sink can be had at the start; a sink that goes later is
// noticed, the session holds, and Run tries to get one back.
func (l *Live) Run(ctx context.Context) (err error) {
	defer l.Feed.close()
	l.clock = clock.New(l.Speed * float64(coach.SessionRate))
	if err := l.open(); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, l.close()) }()
	block := make([]int16, liveBlock)
	for ctx.Err() == nil && !l.Player.Over() {
		l.takePresses()
		l.Player.Mark()
		n := l.Player.Render(block)
		if err := l.write(block[:n]); err != nil {
			l.recover(ctx, err)
		}
		if l.Beat != nil {
			l.Beat()
		}
	}
	if ctx.Err() != nil && l.sink != nil {
		_, err := l.sink.Drop() // silence first
		return err
	}
	l.drain(ctx)
	return nil
}

func (l *Live) open() error {
	s, words, err := l.Open()
	if err != nil {
		return err
	}
	l.sink, l.underruns = s, 0
	l.clock.Restart(int64(l.written))
	l.Feed.note(Note{Sink: words})
	return nil
}

func (l *Live) close() error {
	if l.sink == nil {
		return nil
	}
	err := l.sink.Close()
	l.sink = nil
	return err
}

// write gives a block to the sink and passes on what has been heard.
func (l *Live) write(block []int16) error {
	if err := l.sink.Write(block); err != nil {
		return err
	}
	l.written += coach.Samples(len(block))
	if l.Record {
		l.unheard = append(l.unheard, block...)
	}
	delay, err := l.sink.Delay()
	if err != nil {
		return err
	}
	l.clock.Add(l.Now(), int64(l.written), int64(delay))
	l.heard(l.written - coach.Samples(delay))
	if n := sink.Underruns(l.sink); n != l.underruns {
		l.underruns = n
		l.Feed.note(Note{Underruns: n})
	}
	return nil
}

// tellEvery is how often the feed hears of the position alone, often enough
// for a lamp to follow a movement.
const tellEvery = coach.Samples(coach.SessionRate) / 30

// heard passes on everything before a sample: at once where something
// happened, else now and then.
func (l *Live) heard(to coach.Samples) {
	h := l.Player.Take(to)
	if len(h.Cues)+len(h.Entries) == 0 && to-l.told < tellEvery {
		return
	}
	l.tell(to, h)
}

func (l *Live) tell(to coach.Samples, h Heard) {
	l.told = max(l.told, to)
	var pcm []int16
	if n := min(int(min(l.told, l.written)-l.given), len(l.unheard)); n > 0 {
		pcm = append(pcm, l.unheard[:n]...)
		l.unheard = append(l.unheard[:0], l.unheard[n:]...)
		l.given += coach.Samples(n)
	}
	l.Feed.heard(l.told, h, pcm, l.Player.sess.Waiting().For, l.Player.sess.NeedsLook())
}

// takePresses lets every press that has come in take effect.
func (l *Live) takePresses() {
	for {
		select {
		case p, ok := <-l.Presses:
			if !ok {
				l.Presses = nil
				return
			}
			l.press(p)
		case f := <-l.Faults:
			l.fault(f)
		case g := <-l.Goes:
			l.Player.GoesNext(g.Next, g.PCM)
		case o := <-l.Orders:
			l.Player.Obey(o)
		default:
			return
		}
	}
}

// press lets a press take effect: stop and hold at the sample the device had
// come to, with everything after it taken back; anything else at the next
// sample not yet rendered.
func (l *Live) press(p Pressed) {
	heard := l.heardAt(p.Time)
	if p.Button != coach.Stop && p.Button != coach.Hold {
		l.Player.Press(p.Button, heard)
		return
	}
	dropped, err := l.sink.Drop()
	if err != nil {
		l.Player.Press(p.Button, heard) // the next write finds the sink gone
		return
	}
	l.takeBack(l.written-coach.Samples(dropped), func(at coach.Samples) coach.Samples {
		return l.Player.PressAt(p.Button, at, min(heard, at))
	})
}

// fault holds the session, with what the device has not played taken back.
func (l *Live) fault(f Fault) {
	dropped, err := l.sink.Drop()
	if err != nil {
		dropped = 0 // the next write finds the sink gone
	}
	l.takeBack(l.written-coach.Samples(dropped), func(at coach.Samples) coach.Samples { return l.Player.Interrupt(at, f) })
}

// takeBack forgets what was written from a sample on and lets act happen
// there, or where act says that it did: nothing that was told is taken back,
// though a device may be a little wrong about its delay.
func (l *Live) takeBack(from coach.Samples, act func(coach.Samples) coach.Samples) {
	l.written = act(from)
	if l.Record {
		l.unheard = l.unheard[:min(len(l.unheard), int(max(0, from-l.given)))]
		skipped := int(l.written-l.given) - len(l.unheard)
		l.unheard = append(l.unheard, make([]int16, skipped)...)
	}
	l.clock.Restart(int64(l.written))
}

// heardAt is the sample that was being heard at a time.
func (l *Live) heardAt(t time.Duration) coach.Samples {
	return min(max(coach.Samples(l.clock.Heard(t)), 0), l.written)
}

// recover holds the session where its sound stopped, and waits for a sink.
// Presses take effect all the same, and are told at once: nothing sounds that
// they could wait for.
func (l *Live) recover(ctx context.Context, cause error) {
	l.lost(cause)
	l.takeBack(l.heardAt(l.Now()), func(at coach.Samples) coach.Samples {
		return l.Player.Interrupt(at, Fault{FaultData: coach.FaultData{Part: "sound", Detail: cause.Error()}})
	})
	retry := time.NewTicker(reopenEvery)
	defer retry.Stop()
	for {
		l.tell(l.written, l.Player.Take(l.Player.sess.Pos()+1))
		select {
		case <-ctx.Done():
			return
		case p, ok := <-l.Presses:
			if ok {
				l.Player.Press(p.Button, l.written)
			} else {
				l.Presses = nil
			}
		case o := <-l.Orders:
			l.Player.Obey(o)
		case <-retry.C:
			if l.open() == nil {
				l.Player.Mark()
				return
			}
		}
	}
}

// lost lets go of a sink that has gone: there is nothing to play out.
func (l *Live) lost(cause error) {
	l.Feed.note(Note{Lost: cause.Error()})
	_ = l.close()
}

// drain waits until the last sample has been heard. A sink that goes now
// takes nothing with it but the end of a sound.
func (l *Live) drain(ctx context.Context) {
	for ctx.Err() == nil && l.sink != nil {
		delay, err := l.sink.Delay()
		if err != nil {
			l.lost(err)
			break
		}
		l.heard(l.written - coach.Samples(delay))
		if delay == 0 {
			break
		}
		time.Sleep(5 * time.Millisecond)
	}
	to := l.written // closing the sink plays it
	if l.Player.Over() {
		to = All // what happens at the very end, too
	}
	l.tell(l.written, l.Player.Take(to))
}

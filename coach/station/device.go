package station

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/player"
	"evenbell/coach/protocol"
	"evenbell/coach/session"
	"evenbell/hardware"
)

// Device is a station at work: it waits for a person, coaches, and comes back.
// Run owns every goroutine of it.
type Device struct {
	Config  *Config
	Box     hardware.Box
	Lamps   hardware.Lamps // nil where there are none
	Program string         // fingerprint of the program
	Log     *slog.Logger
	// Logged is called after each durable commit with its last position, in
	// the recorder's goroutine; may be nil.
	Logged func(journal.Position)
	// Beat is called by the audio goroutine for every block it has played; it
	// must not wait; may be nil.
	Beat func()
	// Clock tells the time; nil for the machine's own.
	Clock journal.Clock

	journal  *journal.Journal
	recorder *journal.Recorder
	desk     *desk      // nil where the config names none
	mu       sync.Mutex // guards history, the voice, and what the desk's part says it does; never held while sound is made
	history  *history
	asked    bool        // somebody asked for the introduction; the next session begins with it
	sticks   atomic.Bool // a button sticks, and it has not been said yet
	lit      light
	outlet   outlet
	voice    *Voice // the one last used
	speaks   string // its name
	sounds   string // the sink last opened, in words
	presses  chan player.Pressed
	faults   chan player.Fault
	failed   atomic.Pointer[error] // the first thing that kept the log from being written
	cancel   atomic.Pointer[context.CancelFunc]
	troubles []coach.Trouble // found at the start
	broken   *brokenSession  // to be offered
}

// ErrLogFailed ends a station whose log takes no more.
var ErrLogFailed = errors.New("the log takes no more; the station stopped and must be looked at")

// Run runs the station until ctx is done or its log fails.
func (d *Device) Run(ctx context.Context) (err error) {
	if err := d.begin(); err != nil {
		return err
	}
	ctx, stop := context.WithCancel(ctx)
	boxed, linked := make(chan struct{}), make(chan struct{})
	go func() { defer close(boxed); d.passPresses(ctx) }()
	go func() {
		defer close(linked)
		if d.desk != nil {
			d.desk.run(ctx)
		}
	}()
	defer func() {
		stop()
		<-boxed
		<-linked
		err = errors.Join(err, d.end())
	}()
	if d.desk != nil {
		d.desk.awaitPlan(ctx)
	}
	for waking := true; ctx.Err() == nil; waking = false {
		if d.failed.Load() != nil {
			return d.standFailed(ctx)
		}
		ready, choice, chosen, err := d.wait(ctx, waking)
		if err == nil && chosen {
			err = d.coach(ctx, ready, choice)
		}
		if err != nil && ctx.Err() == nil && d.failed.Load() == nil {
			return err
		}
		d.prune()
	}
	return nil
}

// begin opens the log, reads the station's state from it, and begins to record.
func (d *Device) begin() error {
	if d.Clock == nil {
		d.Clock = journal.SystemClock{}
	}
	d.history = newHistory(d.Config.Zone)
	j, err := journal.Open(d.Config.Data, journal.WithClock(d.Clock))
	var damaged *journal.CorruptError
	if errors.As(err, &damaged) {
		aside, moveErr := journal.SetAside(d.Config.Data)
		if moveErr != nil {
			return errors.Join(err, moveErr)
		}
		d.Log.Error("the log is damaged and was set aside", "folder", aside, "damage", err)
		d.troubles = append(d.troubles, coach.TroubleLogDamaged)
		j, err = journal.Open(d.Config.Data, journal.WithClock(d.Clock))
	}
	if err != nil {
		return fmt.Errorf("opening the log: %w", err)
	}
	d.journal = j
	if err := d.readHistory(); err != nil {
		return errors.Join(err, j.Close())
	}
	d.outlet = outlet{spec: d.Config.Sink, speed: d.Config.Speed}
	d.presses, d.faults = make(chan player.Pressed), make(chan player.Fault, 1)
	d.lit = light{lamps: d.Lamps, log: d.Log}
	d.desk = d.openDesk()
	d.recorder = journal.NewRecorder(j, d.logged, d.logFailed)
	d.noteBroken()
	return nil
}

// readHistory folds the whole log into the station's state.
func (d *Device) readHistory() error {
	const batch = 1000
	var at journal.Position
	for {
		records, err := d.journal.After(at, batch)
		if err != nil {
			return fmt.Errorf("reading the log: %w", err)
		}
		for _, r := range records {
			e, err := r.Entry()
			if err != nil {
				return fmt.Errorf("reading the log at %s %d: %w", r.Epoch, r.Seq, err)
			}
			d.history.add(e)
			d.history.place(e)
			at = r.Position
		}
		if len(records) < batch {
			break
		}
	}
	counter, err := keptCounter(d.Config.Data)
	if err != nil {
		d.Log.Error("an old telephone code might be taken again", "error", err)
	}
	d.history.counter = max(d.history.counter, counter)
	return nil
}

// logged passes on what has become durable.
func (d *Device) logged(at journal.Position) {
	if d.Logged != nil {
		d.Logged(at)
	}
	if d.desk != nil {
		d.desk.logged(at)
	}
}

// noteBroken logs that the power went off in a session, once. Where the program
// had been told to end the log says so already.
func (d *Device) noteBroken() {
	b := d.history.broken
	if b == nil {
		return
	}
	d.broken = b
	if b.off {
		d.troubles = append(d.troubles, coach.TroubleSwitchedOff)
		return
	}
	d.troubles = append(d.troubles, coach.TroublePower)
	if b.noted {
		return
	}
	detail := "the program ended in the middle of this session"
	now := d.Clock.Now()
	if ago, known := b.ago(bootID(), now.Mono, now.Wall, now.Trusted); known {
		detail += fmt.Sprintf(", %s s after its last entry it is back", coach.Seconds(max(0, ago)))
	}
	d.recorder.Record(coach.Entry{Kind: coach.EntryFault, Session: b.id, Tag: b.tag,
		Data: &coach.FaultData{Part: coach.PartPower, Detail: detail}})
}

// end writes what is queued and lets everything go.
func (d *Device) end() error {
	err := errors.Join(d.outlet.close(), d.recorder.Close(), d.journal.Close())
	d.lit.dark()
	if d.voice != nil {
		d.voice.Close()
	}
	if failed := d.failed.Load(); failed != nil {
		return errors.Join(ErrLogFailed, *failed)
	}
	return err
}

// logFailed silences the station: what cannot be recorded is not coached.
func (d *Device) logFailed(err error) {
	d.Log.Error("the log can not be written", "error", err)
	d.failed.Store(&err)
	if cancel := d.cancel.Load(); cancel != nil {
		(*cancel)()
	}
}

// standFailed says that the record can no longer be kept, keeps the red
// button's signal alive, and returns once staff have released the station.
func (d *Device) standFailed(ctx context.Context) error {
	lobby := &session.Lobby{Failed: true, Release: d.Config.Release, Patience: protocolPatience(protocol.Default())}
	voice, err := d.voiceOf(&readiness{})
	if err != nil {
		return err
	}
	_, err = d.play(ctx, voice, player.Config{Programme: lobbyProgramme, Lobby: lobby}, "")
	return err
}

// boxEvery is how often the button box is asked whether it is whole.
const boxEvery = time.Second

// passPresses hands presses from the box to whatever plays, and holds the
// session when the red button or the whole box has gone.
func (d *Device) passPresses(ctx context.Context) {
	look := time.NewTicker(boxEvery)
	defer look.Stop()
	var stuck []hardware.Control
	for {
		select {
		case p, ok := <-d.Box.Presses():
			if !ok {
				d.boxFault(coach.FaultData{Part: "buttons", Detail: fmt.Sprintf("the button box has ended: %v", d.Box.Err())}, coach.TroubleButtons)
				return
			}
			select {
			case d.presses <- player.Pressed{Button: coach.Button(p.Control), Time: p.Time}:
			case <-ctx.Done():
				return
			}
		case <-look.C:
			if slices.Contains(hardware.Missing(d.Box), hardware.Stop) {
				d.boxFault(coach.FaultData{Part: "red button", Detail: "it is no longer connected"}, coach.TroubleRedMissing)
			}
			stuck = d.noteStuck(stuck)
		case <-ctx.Done():
			return
		}
	}
}

// noteStuck logs controls that stick now and did not before, and those that
// have come free. The box passes over what is stuck, so a session goes on; what
// sticks is said before the next.
func (d *Device) noteStuck(before []hardware.Control) []hardware.Control {
	now := hardware.Stuck(d.Box)
	for _, c := range now {
		if !slices.Contains(before, c) {
			d.Log.Error("a button is stuck", "control", c)
			d.record(coach.Entry{Kind: coach.EntryFault, Data: &coach.FaultData{Part: "button " + string(c), Detail: "it is stuck down and is ignored until it is released"}})
			d.sticks.Store(true)
		}
	}
	for _, c := range before {
		if !slices.Contains(now, c) {
			d.record(coach.Entry{Kind: coach.EntryFault, Data: &coach.FaultData{Part: "button " + string(c), Detail: "it was released and counts again"}})
		}
	}
	return now
}

// boxFault holds whatever plays.
func (d *Device) boxFault(f coach.FaultData, says coach.Trouble) {
	select {
	case d.faults <- player.Fault{FaultData: f, Says: says}:
		d.Log.Error("the button box is not whole", "part", f.Part, "detail", f.Detail)
	default: // one is on its way
	}
}

// keptDays is how long entries stay here after the desk has said that it has
// them, for a desk that is put back from an older backup, where there is room.
const keptDays = 35

// prune deletes what the desk has acknowledged and nobody needs here.
func (d *Device) prune() {
	const keep = 5000
	space, err := d.journal.Space()
	roomy := err == nil && space.DaysLeft() >= 2*fewDays
	now := d.Clock.Now()
	d.mu.Lock()
	counter := d.history.counter
	d.mu.Unlock()
	if err := keepCounter(d.Config.Data, counter); err != nil {
		d.Log.Error("nothing is pruned", "error", err)
		return
	}
	stays := func(e coach.Entry) bool {
		if roomy && (e.Wall == nil || !now.Trusted || now.Wall.Sub(*e.Wall) < keptDays*24*time.Hour) {
			return true
		}
		d.mu.Lock()
		defer d.mu.Unlock()
		return d.history.needs(e)
	}
	for {
		n, err := d.journal.Prune(keep, stays)
		if err != nil {
			d.Log.Error("pruning the log", "error", err)
		}
		if n == 0 || err != nil {
			return
		}
	}
}

func protocolPatience(p *protocol.Protocol) coach.Patience {
	return coach.Patience{Repeat: p.Seconds(protocol.AnswerRepeat), Look: p.Seconds(protocol.AnswerLook),
		Abandon: p.Seconds(protocol.AnswerAbandon)}
}

// lobbyProgramme is how a lobby sounds.
var lobbyProgramme = &coach.Programme{Guide: coach.GuideBoth}

// trusted is now, by the wall clock where it can be believed.
func (d *Device) trusted() (time.Time, bool) {
	now := d.Clock.Now()
	return now.Wall, now.Trusted
}

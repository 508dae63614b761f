package station

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/google/uuid"

	"evenbell/coach"
	"evenbell/coach/link"
	"evenbell/coach/player"
	"evenbell/coach/session"
	"evenbell/hardware"
)

// wait plays lobbies until somebody is to be coached. It looks around before
// each, so that a tap is answered by what is there at that moment.
func (d *Device) wait(ctx context.Context, waking bool) (*readiness, session.Choice, bool, error) {
	for tapped := false; ; waking, tapped = false, true {
		r := d.look()
		if d.sticks.Swap(false) { // said as at the start, whoever has tapped
			waking, tapped = true, false
		}
		voice, err := d.voiceOf(r)
		if err != nil {
			return nil, session.Choice{}, false, err
		}
		d.typeFor(ctx, voice, r)
		d.lit.notice = r.filling()
		s, err := d.play(ctx, voice, player.Config{Programme: lobbyProgramme, Lobby: d.lobby(r, waking, tapped)}, "")
		if err != nil {
			return nil, session.Choice{}, false, err
		}
		if c, ok := s.Chosen(); !ok || !c.Tapped {
			return r, c, ok, nil
		} else if c.Intro {
			d.asked = true
		}
	}
}

// lobby is what the station does next between sessions.
func (d *Device) lobby(r *readiness, waking, tapped bool) *session.Lobby {
	d.mu.Lock()
	defer d.mu.Unlock()
	l := &session.Lobby{Waking: waking, Tapped: tapped, Refusal: r.refusal, Guests: r.guests, Broken: d.offer(r),
		Locked: d.history.locked, Release: d.Config.Release, Patience: r.patience, Home: home(r.guests)}
	if d.desk != nil {
		d.desk.codes(l)
	}
	if waking {
		l.Troubles = append(append(l.Troubles, d.troubles...), r.troubles...)
		if r.refusal != "" {
			l.Troubles = append(l.Troubles, r.refusal)
		}
	}
	return l
}

// typeFor gets ready what was typed that a lobby may say: the names of exercises
// of the clinic's own, by which people are told apart, and what to do at home in
// an emergency.
func (d *Device) typeFor(ctx context.Context, voice *Voice, r *readiness) {
	if r.plan == nil {
		voice.Own(nil)
		d.useRecordings(voice, nil)
		return
	}
	voice.Own(r.plan.Own)
	var names []string
	for _, e := range r.plan.Own {
		names = append(names, e.Name)
	}
	d.useRecordings(voice, names)
	if h := home(r.guests); h != nil {
		names = append(names, h.Emergency)
	}
	if err := voice.Type(ctx, filepath.Join(d.Config.Data, typedFolder), names...); err != nil {
		d.Log.Warn("something typed is not spoken", "error", err)
	}
}

// useRecordings gives the voice what the desk has sent of recordings of some
// texts.
func (d *Device) useRecordings(voice *Voice, texts []string) {
	var all []link.Recording
	if d.desk != nil && len(texts) > 0 {
		var err error
		if all, err = d.desk.lines.In(voice.Language()); err != nil {
			d.Log.Error("a recording can't be read; the desk sends it again", "error", err)
			d.desk.client.Refetch()
		}
	}
	if err := voice.Record(all, texts...); err != nil {
		d.Log.Warn("a recording is not used", "error", err)
	}
}

// voiceOf is the plan's voice, kept open from session to session. Where it
// can't be had, the built-in English speaks instead.
func (d *Device) voiceOf(r *readiness) (*Voice, error) {
	name := plainVoice
	if r.plan != nil {
		name = r.plan.Voice
	}
	if d.voice != nil && d.speaks == name {
		return d.voice, nil
	}
	v, err := FindVoice(name, d.Config.Data)
	if err != nil {
		d.Log.Error("the plan's voice can't be used", "voice", name, "error", err)
		r.trouble(coach.TroubleVoice)
		v, err = OpenVoice(plainVoice)
	}
	if err != nil {
		return nil, err
	}
	if d.voice != nil {
		d.voice.Close()
	}
	d.mu.Lock()
	d.voice, d.speaks = v, name
	d.mu.Unlock()
	return v, nil
}

// plainVoice is the built-in voice that speaks where no other can.
const plainVoice = "en"

// coach leads the chosen guest's session.
func (d *Device) coach(ctx context.Context, r *readiness, c session.Choice) error {
	voice, err := d.voiceOf(r)
	if err != nil {
		return err
	}
	prog := r.progs[c.Guest]
	d.lit.notice = false
	if n, ok := d.nextPlace(prog.Tag); ok {
		prog.Next = n
	}
	d.useRecordings(voice, ownTexts(prog.Own))
	cfg := player.Config{Programme: &prog, Start: coach.SessionStartData{
		Plan: r.plan.Fingerprint(), Protocol: r.plan.Protocol.Fingerprint(), Voice: voice.Fingerprint(), Recorded: voice.Recorded(),
		Program: d.Program, Speed: strconv.FormatFloat(d.Config.Speed, 'g', -1, 64)}}
	prog.Intro = !c.Resume && d.introduces(&prog)
	d.asked = false
	if c.Resume {
		b := d.history.broken
		cfg.Start.Resumes = b.id
		cfg.GoOn = &player.GoOn{Item: b.goesOnAt(), WarmUp: d.warmsUpAgain(b, r.plan.Protocol)}
	}
	id, err := uuid.NewV7()
	if err != nil {
		return fmt.Errorf("naming the session: %w", err)
	}
	if err := voice.TypeFor(ctx, &prog, filepath.Join(d.Config.Data, typedFolder)); err != nil {
		d.Log.Warn("something typed is not spoken", "error", err)
	}
	if now, known := d.trusted(); known {
		prog.Next = prog.Next.From(now.In(d.Config.Zone))
	}
	if d.desk != nil {
		d.desk.begins(id.String(), &prog, d.speaks+" "+voice.Fingerprint())
		defer d.desk.ends()
	}
	d.Log.Info("a session begins", "session", id, "tag", prog.Tag)
	s, err := d.play(ctx, voice, cfg, id.String())
	if err != nil {
		return err
	}
	if ctx.Err() != nil && d.failed.Load() == nil && !s.Done() {
		d.Log.Info("the program is told to end in a session", "session", id)
		d.record(coach.Entry{Kind: coach.EntryShutdown, Sample: s.Pos(), Session: id.String(), Tag: prog.Tag})
		return nil
	}
	d.Log.Info("the session is over", "session", id, "outcome", s.Outcome())
	return nil
}

// introduces reports whether a session begins with the introduction: the plan
// says so, somebody asked for it, or the log knows of no session of the tag
// here and the clinic has not turned it off.
func (d *Device) introduces(p *coach.Programme) bool {
	return p.Intro || d.asked || d.Config.Intro && !d.history.met[p.Tag]
}

// play plays a session or a lobby to its end, or until ctx is done or the log
// fails, and gives it in the state it ended in.
func (d *Device) play(ctx context.Context, voice *Voice, cfg player.Config, id string) (*session.Session, error) {
	speaker, err := voice.Speaker(d.Config.Speed)
	if err != nil {
		return nil, err
	}
	cfg.Voice, cfg.Live, cfg.GainDB, cfg.Patient = speaker, true, d.Config.VolumeDB, player.Absent
	cfg.Register, cfg.CeilingDB = d.Config.Register, d.ceiling()
	if err := voice.Prepare(cfg); err != nil {
		return nil, err
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	d.cancel.Store(&cancel)
	if d.failed.Load() != nil && (cfg.Lobby == nil || !cfg.Lobby.Failed) {
		cancel()
	}
	live := &player.Live{Player: player.New(cfg), Open: d.outlet.open, Presses: d.presses, Faults: d.faults, Now: hardware.Now,
		Speed: d.Config.Speed, Feed: player.NewFeed(), Beat: d.Beat}
	if d.desk != nil && (cfg.Lobby == nil || !cfg.Lobby.Failed) {
		live.Goes, live.Orders = d.desk.plays(cfg.Programme.Tag)
		defer d.desk.play(playing{})
	}
	followed := make(chan struct{})
	go func() {
		defer close(followed)
		d.follow(live.Feed, id, cfg.Programme)
	}()
	err = live.Run(ctx)
	<-followed
	if err != nil {
		return nil, fmt.Errorf("playing: %w", err)
	}
	return live.Player.Session(), nil
}

// ceiling is the clinic's for now. Where no clock is trusted, the hours are not
// known either, and the quieter of the two holds.
func (d *Device) ceiling() *float64 {
	now, known := d.trusted()
	if !known {
		return d.Config.Ceiling.quietest()
	}
	return d.Config.Ceiling.At(now.In(d.Config.Zone))
}

// follow records what has been heard and lights the lamps, until the feed
// ends.
func (d *Device) follow(feed *player.Feed, id string, prog *coach.Programme) {
	for range feed.More() {
		events, more := feed.Next()
		for i := range events {
			d.take(&events[i], id)
			d.lit.follow(&events[i])
			if d.desk != nil {
				d.desk.follow(&events[i])
			}
		}
		if !more {
			return
		}
	}
}

// take records an event. The log comes before the lamps and everything else.
func (d *Device) take(e *player.Event, id string) {
	note := e.Note
	switch {
	case note.Sink != "" && note.Sink == d.sounds:
	case note.Sink != "":
		d.sounds = note.Sink
		d.Log.Info("sound", "device", note.Sink)
		d.record(coach.Entry{Kind: coach.EntrySound, Session: id, Data: &coach.SoundData{Device: note.Sink}})
	case note.Lost != "":
		d.sounds = ""
		d.Log.Error("the sound has gone", "error", note.Lost)
	case note.Underruns > 0:
		d.Log.Warn("the sound ran dry", "times", note.Underruns)
		d.record(coach.Entry{Kind: coach.EntrySound, Session: id, Data: &coach.SoundData{Underruns: note.Underruns}})
	}
	entries := slices.Clone(e.Entries)
	for i := range entries {
		entries[i].Session = id
	}
	d.record(entries...)
}

// record queues entries for the disk and takes them into the station's state.
// What is recorded together becomes durable together: a power cut must not part
// the press of the red button from its stop, which locks the box.
func (d *Device) record(entries ...coach.Entry) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.recordLocked(entries...)
}

// recordLocked is record, called with mu held.
func (d *Device) recordLocked(entries ...coach.Entry) {
	boot, mono := bootID(), d.journal.Mono()
	now, known := d.trusted()
	for i := range entries {
		e := &entries[i]
		if known {
			e.Wall = &now // for the state alone; the log dates its entries itself
		}
		e.MonoNS, e.Boot = mono, boot
		d.history.add(*e)
	}
	d.recorder.Record(entries...)
}

// bootID names this run of the machine; empty where the kernel does not say.
func bootID() string {
	b, err := os.ReadFile("/proc/sys/kernel/random/boot_id")
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(b))
}

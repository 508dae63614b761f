package web

import (
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	invented "evenbell/coach/desk/clinic"
	"evenbell/coach/desk/store"
	"evenbell/coach/journal"
)

var (
	largePeople = flag.Int("people", 500, "how many patients the large clinic has")
	largeDays   = flag.Int("days", 730, "how many days the large clinic goes back")
)

// mute is a voice that takes a while for everything it says.
type mute struct{}

func (mute) Length(p coach.Phrase) coach.Samples {
	if p.ID == "" {
		return 0
	}
	return coach.SessionRate.At(1500 * time.Millisecond)
}

// course is what one invented person did in twelve weeks.
type course struct {
	text     string // the newest plan
	sessions []courseSession
}

type courseSession struct {
	begun   time.Time
	entries []coach.Entry
}

// courses are those of the invented clinic's dozen, made by real sessions.
func courses(b testing.TB) []course {
	b.Helper()
	ctx := context.Background()
	st, err := store.Open(ctx, b.TempDir())
	require.NoError(b, err)
	defer st.Close()
	zone, err := time.LoadLocation(invented.Zone)
	require.NoError(b, err)
	today := coach.DayOf(time.Now().In(zone))
	clock := &invented.Clock{}
	clock.Set(today.AddDays(-100).Time())
	d := desk.New(desk.Config{Alone: true, Store: st, Now: clock.Now, Length: lengths})
	staff := func(role store.Role) desk.Actor {
		m, err := d.AddStaff(ctx, desk.AtConsole("test"), staffed[role], role, password)
		require.NoError(b, err)
		return desk.Actor{ID: m.ID, Name: m.Name, Role: role}
	}
	p := &invented.Past{Desk: d, Link: d.Link(), Clock: clock, Speech: mute{}, Today: today, Zone: zone,
		Start: coach.SessionStartData{Voice: "invented", Program: "invented"}, Rand: rand.New(rand.NewPCG(7, 7)),
		Supervisor: staff(store.Supervisor), Assistant: staff(store.Assistant), Admin: staff(store.Admin)}
	require.NoError(b, p.Make(ctx))
	people, err := st.Patients(ctx, store.PatientFilter{})
	require.NoError(b, err)
	var out []course
	for _, who := range people {
		all, err := st.PrescriptionsOf(ctx, who.ID)
		require.NoError(b, err)
		sessions, err := st.Sessions(ctx, store.SessionFilter{Tag: who.Tag})
		require.NoError(b, err)
		if len(all) == 0 || len(sessions) == 0 {
			continue
		}
		c := course{text: strings.ReplaceAll(all[0].Text, fmt.Sprintf("%q", who.Tag), `"TAG"`)}
		for _, s := range sessions {
			one := courseSession{begun: s.Begun}
			for e, err := range st.Entries(ctx, store.EntryFilter{Session: s.ID}) {
				require.NoError(b, err)
				entry, err := journal.ParseLine(e.Line)
				require.NoError(b, err)
				one.entries = append(one.entries, entry)
			}
			c.sessions = append(c.sessions, one)
		}
		out = append(out, c)
	}
	return out
}

// large makes a clinic of many people who came for twelve weeks each, some time
// in the last two years.
func (c *clinic) large(b testing.TB) (tags []string) {
	b.Helper()
	ctx := context.Background()
	all := courses(b)
	r := rand.New(rand.NewPCG(1, 1))
	type device struct {
		id  int64
		log *invented.DeviceLog
	}
	var devices []device
	for i := range 12 {
		p := c.station(fmt.Sprintf("Bay %d", i+1))
		d := device{p.ID, invented.NewDeviceLog(r)}
		boot, err := d.log.Boot(time.Now().AddDate(-3, 0, 0))
		require.NoError(b, err)
		_, err = c.store.Append(ctx, store.Batch{Station: d.id, Records: boot, Received: time.Now()})
		require.NoError(b, err)
		devices = append(devices, d)
	}
	entries := 0
	for i := range *largePeople {
		tag := fmt.Sprintf("%c%d", 'A'+i%24, i+10)
		tags = append(tags, tag)
		one := all[i%len(all)]
		back := r.IntN(max(1, *largeDays-84)) * boolInt(i >= *largePeople/10) // a tenth are in their twelve weeks now
		c.person(tag, fmt.Sprintf("Person %d of many", i+1), one.text, back)
		dev := devices[i%len(devices)]
		for _, s := range one.sessions {
			es := make([]coach.Entry, len(s.entries))
			for n, e := range s.entries {
				e.Tag = tag
				es[n] = e
			}
			records, err := dev.log.Add(dev.log.Session(), s.begun.AddDate(0, 0, -back), es...)
			require.NoError(b, err)
			_, err = c.store.Append(ctx, store.Batch{Station: dev.id, Records: records, Received: time.Now()})
			require.NoError(b, err)
			entries += len(records)
		}
	}
	b.Logf("%d people, %d entries", len(tags), entries)
	return tags
}

// person adds somebody with an approved plan; who came long ago has left.
func (c *clinic) person(tag, name, text string, back int) {
	ctx := context.Background()
	p, err := c.store.AddPatient(ctx, store.Patient{Tag: tag, Name: name, Record: store.Record{Wanted: 2}})
	require.NoError(c.t, err)
	if back > 0 {
		p.Left = coach.DayOf(time.Now()).AddDays(-back)
		_, err = c.store.UpdatePatient(ctx, p)
		require.NoError(c.t, err)
	}
	rx, err := c.store.AddPrescription(ctx, store.Prescription{Patient: p.ID, Text: strings.ReplaceAll(text, `"TAG"`, fmt.Sprintf("%q", tag)), Written: "R. Okafor", WrittenAt: time.Now()})
	require.NoError(c.t, err)
	_, err = c.store.Approve(ctx, rx.ID, "", "R. Okafor", time.Now())
	require.NoError(c.t, err)
}

// work is how long this process has worked on its processors.
func work(t testing.TB) time.Duration {
	var u syscall.Rusage
	require.NoError(t, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}

// BenchmarkPages is how long the desk takes for each page, of a clinic with 500
// patients and two years of entries: the p95 over many patients. Making it takes
// minutes; -people and -days make it smaller.
func BenchmarkPages(b *testing.B) {
	c := newClinic(b)
	tags := c.large(b)
	require.NoError(b, c.desk.Digest(b.Context())) // as it does every hour
	in := c.browser(store.Supervisor)
	for _, p := range []string{"/now", "/day", "/patients", "/patients/{tag}", "/patients/{tag}/progress", "/patients/{tag}/screening", "/review", "/review/{tag}", "/stations", "/clinic", "/records"} {
		b.Run(strings.Trim(strings.ReplaceAll(p, "/", " "), " "), func(b *testing.B) {
			var took []float64
			n, worked := 0, work(b)
			for b.Loop() {
				// Every other look is at somebody who comes at present, a tenth of all.
				at := n * 37 % len(tags)
				if n%2 == 0 {
					at = n % max(1, len(tags)/10)
				}
				path := strings.ReplaceAll(p, "{tag}", tags[at])
				n++
				from := time.Now()
				a := in.get(path)
				took = append(took, float64(time.Since(from).Microseconds())/1000)
				if a.status != 200 {
					b.Fatalf("%s: %d to %s", path, a.status, a.to)
				}
			}
			b.ReportMetric(float64((work(b)-worked).Microseconds())/1000/float64(n), "cpu-ms") // the browser's included
			b.ReportMetric(share(0.5, took), "p50-ms")
			b.ReportMetric(share(0.95, took), "p95-ms")
		})
	}
}

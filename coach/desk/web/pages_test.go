package web

import (
	"fmt"
	"html"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
)

// hostile is what somebody might type to have it run.
const hostile = `<img src=x onerror="window.ran=1"><script>window.ran=1</script>"'`

// shown is a page that every width and colour is to be looked at in.
type shown struct {
	name string
	role store.Role // empty: before the login
	path string
}

// busy makes a morning at the clinic: people with plans, stations that talk,
// stations that do not, a stop, a hold. Every text that somebody can type is
// hostile somewhere.
func (c *clinic) busy() {
	c.t.Helper()
	ctx := c.t.Context()
	_, err := c.desk.ChangeClinic(ctx, c.as(store.Admin), func(s *desk.Clinic) error {
		s.Name, s.Owned, s.Zone = "Harbour Street Heart Gym", "1, 1.5, 2, 2.5, 3, 4 kg; band 1, 2", "Europe/London"
		return nil
	})
	require.NoError(c.t, err)
	for i, name := range []string{"Ada Holm", "Ben " + hostile, "Carla Nwosu-Featherstonehaugh", "Dev Rao", "Ewa Lis"} {
		tag := fmt.Sprintf("K%d", i+1)
		p, err := c.desk.AddPatient(ctx, c.as(store.Supervisor), store.Patient{Tag: tag, Name: name, Record: store.Record{Notes: hostile, Wanted: 2}})
		require.NoError(c.t, err)
		c.planned(p.Tag, i != 3)
	}
	for _, name := range []string{"Bay 1", "Bay 2", "Bay 3", "Bay <b>4</b>"} {
		c.station(name)
	}
	require.NoError(c.t, c.desk.RenameStation(ctx, c.as(store.Admin), "Bay 2", "Bay 2", "the place by the window"))
	c.says("Bay 1", &link.SessionStatus{ID: "s-1", Tag: "K1", Part: coach.Whole, Item: 3, Items: 8, Exercise: "half-squat", Set: 1, Rep: 7})
	c.says("Bay 2", &link.SessionStatus{ID: "s-2", Tag: "K3", Part: coach.Whole, Item: 4, Items: 8, Exercise: "lateral-raise", Set: 1, RestS: 50})
	c.says("Bay 3", &link.SessionStatus{ID: "s-3", Tag: "K2", Part: coach.Whole, Item: 1, Items: 8, Exercise: "biceps-curl", Waiting: "ready"})
	c.stop("Bay 3", "K2")
}

// planned writes a plan of today for a patient, approved or not.
func (c *clinic) planned(tag string, approved bool) {
	c.t.Helper()
	zone, err := c.desk.Zone(c.t.Context())
	require.NoError(c.t, err)
	text := strings.NewReplacer("DAY", string(coach.DayOf(c.desk.Time().In(zone))), "TAG", tag).Replace(`format = "day-plan/1"
day = DAY
clinic = "Harbour Street Heart Gym"
voice = "en"
unit = "kg"

[[patient]]
tag = "TAG"
guide = "both"
warm_up = 300
cool_down = 300
[[patient.item]]
exercise = "half-squat"
sets = 1
reps = 10
load = "body"
[[patient.item]]
exercise = "biceps-curl"
sets = 1
reps = 10
load = "2 kg"
`)
	rx, checked, err := c.desk.Draft(c.t.Context(), c.as(store.Supervisor), tag, text)
	require.NoError(c.t, err)
	if approved {
		_, err = c.desk.Approve(c.t.Context(), c.as(store.Supervisor), rx.ID, checked.Fingerprint)
		require.NoError(c.t, err)
	}
}

// classText is a class of these people, begun a few minutes ago.
func (c *clinic) classText(tags ...string) string {
	zone, err := c.desk.Zone(c.t.Context())
	require.NoError(c.t, err)
	text := fmt.Sprintf("format = \"class/1\"\nbegins = %q\nwalk = 10\nwarm_up = { capacity = 3 }\ncool_down = { capacity = 3 }\n", c.desk.Time().In(zone).Add(-7*time.Minute).Format("15:04"))
	for _, p := range []string{"Bay 1", "Bay 2"} {
		text += fmt.Sprintf("[[place]]\nname = %q\npositions = [\"standing\", \"seated\"]\nloads = [\"dumbbell\"]\n", p)
	}
	for _, tag := range tags {
		text += fmt.Sprintf("[[patient]]\ntag = %q\n", tag)
	}
	return text
}

// framePages are the pages of this half of the house.
func (c *clinic) framePages() []shown {
	now, err := c.desk.Now(c.t.Context(), c.as(store.Supervisor))
	require.NoError(c.t, err)
	require.NotEmpty(c.t, now.Needs)
	require.NotEmpty(c.t, now.Holds)
	station := now.Stations[1].ID
	class, err := c.desk.AddClass(c.t.Context(), c.as(store.Assistant), coach.DayOf(c.desk.Time()), c.classText("K1", "K3"), time.Millisecond)
	require.NoError(c.t, err)
	return []shown{
		{"class-new", store.Assistant, "/classes/new"},
		{"class", store.Assistant, fmt.Sprintf("/classes/%d", class.ID)},
		{"login", "", "/login"},
		{"now", store.Supervisor, "/now"},
		{"attention", store.Supervisor, fmt.Sprintf("/attentions/%d", now.Needs[0].ID)},
		{"hold", store.Supervisor, fmt.Sprintf("/holds/%d", now.Holds[0].ID)},
		{"day", store.Assistant, "/day"},
		{"more", store.Supervisor, "/more"},
		{"missing", store.Supervisor, "/nowhere"},
		{"forbidden", store.Admin, "/day"},
		{"stations", store.Admin, "/stations"},
		{"station", store.Admin, fmt.Sprintf("/stations/%d", station)},
		{"code", store.Admin, fmt.Sprintf("/stations/%d/code", station)},
	}
}

// Every page at every width, by day and by night: nothing that a judge of
// accessibility finds, nothing that sticks out, nothing too small to tap, and
// nothing that anybody typed runs.
func TestEveryPageCanBeUsedByAll(t *testing.T) {
	c := newClinic(t)
	c.busy()
	_, _, _, err := c.desk.Code(t.Context(), c.as(store.Admin), "Bay 2")
	require.NoError(t, err)
	c.lookAt(c.framePages())
}

// lookAt judges pages in all looks, or in some, each role in a tab of its own.
func (c *clinic) lookAt(pages []shown, in ...look) {
	c.t.Helper()
	if len(in) == 0 {
		in = looks
	}
	tabs := map[store.Role]*tab{}
	for _, p := range pages {
		b, ok := tabs[p.role]
		if !ok {
			b = c.tab()
			if p.role != "" {
				b.login(p.role)
			}
			tabs[p.role] = b
		}
		b.open(p.path)
		for _, l := range in {
			b.as(l)
			b.measure(l, p.name)
			b.judge(l, p.name)
			b.shoot(p.name + "-" + l.name)
		}
		assert.False(c.t, eval[bool](b, `"ran" in window`), "%s ran what somebody typed", p.name)
		b.mu.Lock()
		for _, w := range b.wrong {
			if !strings.Contains(w, "status of 404") && !strings.Contains(w, "status of 403") {
				c.t.Errorf("%s: the page complains: %s", p.name, w)
			}
		}
		b.wrong = nil
		b.mu.Unlock()
	}
}

// Whatever a page offers to follow leads somewhere, for everybody who sees it,
// and what people typed stands on it as text.
func TestNoLinkLeadsNowhereAndNothingTypedIsMarkup(t *testing.T) {
	c := newClinic(t)
	c.busy()
	_, err := c.desk.ChangeClinic(t.Context(), c.as(store.Admin), func(s *desk.Clinic) error { s.Name = "Harbour " + hostile; return nil })
	require.NoError(t, err)
	m, err := c.desk.AddStaff(t.Context(), desk.AtConsole("test"), `Kim <script>window.ran=1</script>"`, store.Assistant, password)
	require.NoError(t, err)
	_, err = c.desk.Going(t.Context(), desk.Actor{ID: m.ID, Name: m.Name, Role: m.Role}, c.need().ID)
	require.NoError(t, err)
	href := regexp.MustCompile(`(?:href|src)="(/[^"#]*)`)
	for role := range staffed {
		b := c.browser(role)
		seen, todo := map[string]bool{}, []string{"/now", "/more"}
		for len(todo) > 0 && len(seen) < 300 {
			path := todo[0]
			todo = todo[1:]
			if seen[path] {
				continue
			}
			seen[path] = true
			a := b.get(path)
			assert.Less(t, a.status, 400, "%s for %s", path, role)
			kind := a.header.Get("Content-Type")
			if strings.HasPrefix(kind, "text/html") || strings.HasPrefix(kind, "image/svg") {
				assert.False(t, strings.Contains(a.body, "<script>window.ran") || strings.Contains(a.body, "<img src=x"), "%s for %s writes markup that somebody typed", path, role)
			}
			if !strings.HasPrefix(kind, "text/html") {
				continue
			}
			for _, m := range href.FindAllStringSubmatch(a.body, -1) {
				next := html.UnescapeString(m[1])
				// Days go on for ever.
				if !strings.HasPrefix(next, "/assets/") && !strings.HasPrefix(next, "/day?on=") && !strings.HasPrefix(next, "/classes/new?on=") {
					todo = append(todo, next)
				}
			}
		}
		t.Logf("%s: %d addresses", role, len(seen))
	}
}

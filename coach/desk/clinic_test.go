package desk_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/protocol"
)

func TestSettings(t *testing.T) {
	c := newClinic(t)
	change := func(f func(*desk.Clinic)) error {
		_, err := c.ChangeClinic(ctx, adair, func(v *desk.Clinic) error { f(v); return nil })
		return err
	}
	refused(t, change(func(v *desk.Clinic) { v.Zone = "Mars/Olympus" }), "no time zone")
	refused(t, change(func(v *desk.Clinic) { v.Unit = "stone" }), "kg or lb")
	refused(t, change(func(v *desk.Clinic) { v.Owned = "some dumbbells" }), "owned")
	refused(t, change(func(v *desk.Clinic) { v.Retention = -1 }), "to keep for ever")
	require.NoError(t, change(func(v *desk.Clinic) { v.Zone, v.Telephone = "Pacific/Auckland", "555 0199" }))
	day, err := c.Today(ctx)
	require.NoError(t, err)
	assert.Equal(t, "2026-03-02", string(day), "ten in the morning in UTC is the same evening there")
	c.pass(2 * time.Hour)
	day, err = c.Today(ctx)
	require.NoError(t, err)
	assert.Equal(t, "2026-03-03", string(day))
	lines, err := c.Audit(ctx, adair, store.AuditFilter{Action: string(desk.ManageClinic)})
	require.NoError(t, err)
	assert.Equal(t, "changed: telephone, zone", lines[len(lines)-1].Detail)
}

const ownProtocol = `format  = "protocol/1"
name    = "Quayside Heart Health"
edition = "2026-02"
[[limit]]
key   = "rest-floor"
value = 90
source = [{ name = "our policy 12", edition = "2026", says = "90 s at least", confidence = "the clinic's own" }]
`

// A version of the protocol does nothing until a supervisor has signed it; then
// plans are held to it, also those approved before.
func TestProtocolHoldsOnceItIsSigned(t *testing.T) {
	c := newClinic(t)
	c.patient("K4", store.Record{})
	bay := c.enrolled("Bay 3")
	c.approved("K4", "[[patient.item]]\nexercise = \"biceps-curl\"\nreps = 10\nload = \"2 kg\"\nrest = 60\n")
	_, err := c.Load(ctx, lind, "Bay 3", "2026-03-02", "K4")
	require.NoError(t, err)

	_, err = c.WriteProtocol(ctx, adair, "format = \"protocol/1\"\nname = \"x\"\nedition = \"1\"\n[[limit]]\nkey = \"rest-floor\"\nvalue = 1\n")
	require.ErrorAs(t, err, &desk.Faulty{}, "beyond what a clinic may set")
	v, err := c.WriteProtocol(ctx, adair, ownProtocol)
	require.NoError(t, err)
	assert.Len(t, v.Differences, 1)
	p, err := c.Protocol(ctx)
	require.NoError(t, err)
	assert.Equal(t, protocol.Default().Fingerprint(), p.Fingerprint(), "nobody has signed")
	assert.ErrorIs(t, c.SignProtocol(ctx, adair, v.Version), desk.ErrDenied)
	assert.ErrorIs(t, c.SignProtocol(ctx, okafor, v.Version+1), desk.ErrNotFound)
	require.NoError(t, c.SignProtocol(ctx, okafor, v.Version))
	p, err = c.Protocol(ctx)
	require.NoError(t, err)
	assert.Equal(t, 90.0, p.Number(protocol.RestFloor))
	all, err := c.Protocols(ctx, lind)
	require.NoError(t, err)
	require.Len(t, all, 1)
	assert.True(t, all[0].InForce)
	assert.Equal(t, "R. Okafor", all[0].Signed)

	_, err = c.Load(ctx, lind, "Bay 3", "2026-03-02", "K4")
	refused(t, err, "not allowed any more")
	down, err := c.link.Plan(ctx, bay.peer, bay.state().Plan)
	require.NoError(t, err)
	assert.Equal(t, ownProtocol, down.Protocol, "stations judge by the same")
}

func TestRetentionKeepsWhatIsHeldByLaw(t *testing.T) {
	c := newClinic(t)
	for _, tag := range []string{"K4", "M2", "B7"} {
		_, err := c.AddPatient(ctx, okafor, store.Patient{Tag: tag, Name: "Person " + tag, Left: "2026-01-10"})
		require.NoError(t, err)
	}
	require.NoError(t, c.KeepPatient(ctx, adair, "M2", true))
	p, err := c.store.PatientByTag(ctx, "B7")
	require.NoError(t, err)
	_, err = c.ChangePatient(ctx, okafor, "B7", p.Version, func(p *store.Patient) error { p.Left = "2026-02-28"; return nil })
	require.NoError(t, err)
	gone, err := c.Retain(ctx)
	require.NoError(t, err)
	assert.Empty(t, gone, "kept for ever until the clinic says otherwise")
	_, err = c.ChangeClinic(ctx, adair, func(v *desk.Clinic) error { v.Retention = 30; return nil })
	require.NoError(t, err)
	gone, err = c.Retain(ctx)
	require.NoError(t, err)
	assert.Equal(t, []string{"K4"}, gone)
	all, err := c.Patients(ctx, okafor, false, "Person")
	require.NoError(t, err)
	assert.Len(t, all, 2)
	_, err = c.AddPatient(ctx, okafor, store.Patient{Tag: "K4", Name: "Somebody else"})
	refused(t, err, "another patient's already")
}

func TestEveryLookIsAudited(t *testing.T) {
	c := newClinic(t)
	c.patient("K4", store.Record{})
	c.patient("M2", store.Record{})
	looks := func(tag string) int {
		lines, err := c.Audit(ctx, adair, store.AuditFilter{Action: string(desk.SeePatients), Subject: tag})
		require.NoError(t, err)
		return len(lines)
	}
	view := func(who desk.Actor, tag string) {
		_, err := c.View(ctx, who, tag)
		require.NoError(t, err)
	}
	view(lind, "K4")
	assert.Equal(t, 1, looks("K4"))
	for range 20 { // the page stands open
		c.pass(time.Minute)
		view(lind, "K4")
	}
	assert.Equal(t, 1, looks("K4"), "one look that went on")
	view(okafor, "K4")
	assert.Equal(t, 2, looks("K4"), "somebody else's is another")
	view(lind, "M2")
	assert.Equal(t, 1, looks("M2"))
	c.pass(6 * time.Minute)
	view(lind, "K4")
	assert.Equal(t, 3, looks("K4"))
}

package station

import (
	"context"
	"fmt"
	"time"

	"evenbell/coach"
	"evenbell/coach/link"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
)

// deskPlan reads the plan that the desk sent.
func (d *Device) deskPlan() (*plan.Plan, coach.Trouble, error) {
	kept := d.desk.plans.Plan()
	if kept.Version == 0 {
		return nil, coach.TroublePlanMissing, fmt.Errorf("the desk has sent no plan yet")
	}
	limits, err := d.deskProtocol(kept.Protocol)
	if err != nil {
		return nil, coach.TroublePlanFaulty, err
	}
	return checkPlan(fmt.Sprintf("plan %d of the desk", kept.Version), []byte(kept.Text), limits)
}

// deskProtocol is the protocol that came with the plan; without one it is what
// the station has of its own.
func (d *Device) deskProtocol(text string) (*protocol.Protocol, error) {
	if text == "" {
		return d.readProtocol()
	}
	p, faults := protocol.Read("the desk's protocol", []byte(text))
	if p == nil {
		return nil, fmt.Errorf("the protocol has %d fault(s); the first: %s", len(coach.Errors(faults)), coach.Errors(faults)[0])
	}
	return p, nil
}

// checkPlan reads a plan and refuses one that nobody approved.
func checkPlan(name string, text []byte, limits *protocol.Protocol) (*plan.Plan, coach.Trouble, error) {
	p, faults := plan.Read(name, text, limits)
	if p == nil {
		return nil, coach.TroublePlanFaulty, fmt.Errorf("the plan has %d fault(s); the first: %s", len(coach.Errors(faults)), coach.Errors(faults)[0])
	}
	if p.Approval == nil {
		return nil, coach.TroublePlanUnapproved, fmt.Errorf("%s is not approved", name)
	}
	return p, "", nil
}

// firstPlan is how long a station that has no plan yet waits for the desk to
// send one before it says that it has none.
const firstPlan = 3 * time.Second

// awaitPlan waits for the very first plan.
func (k *desk) awaitPlan(ctx context.Context) {
	if _, err := link.ReadIdentity(k.d.Config.Data); err != nil || k.d.Config.Plan != "" {
		return
	}
	late := time.NewTimer(firstPlan)
	defer late.Stop()
	look := time.NewTicker(firstPlan / 100)
	defer look.Stop()
	for k.plans.Has() == "" {
		select {
		case <-ctx.Done():
			return
		case <-late.C:
			return
		case <-look.C:
		}
	}
}

// tryPlan looks whether a plan that has come between two sessions is good, so
// that the desk hears of it before anybody taps. Within a session the plan
// waits.
func (k *desk) tryPlan() {
	k.d.mu.Lock()
	kept := k.plans.Plan()
	delivered := k.now.Plan.Delivered != kept.Version
	k.now.Plan.Delivered = kept.Version
	idle := k.live.orders != nil && k.live.tag == ""
	tried := k.now.Plan.Taken == kept.Version || k.now.Plan.Refused == kept.Version
	k.d.mu.Unlock()
	if delivered {
		k.d.Log.Info("the desk's plan is here", "version", kept.Version)
		k.client.Changed()
	}
	if idle && !tried && k.d.Config.Plan == "" {
		p, _, err := k.d.deskPlan()
		k.notePlan(p, err)
	}
}

// notePlan notes for the desk what has become of its plan.
func (k *desk) notePlan(p *plan.Plan, err error) {
	version := k.plans.Plan().Version
	k.d.mu.Lock()
	s := &k.now.Plan
	before := *s
	s.Delivered = version
	switch {
	case version == 0:
		s.Taken, s.Refused, s.Why, s.Fingerprint = 0, 0, "", ""
	case p != nil:
		s.Taken, s.Refused, s.Why, s.Fingerprint = version, 0, "", p.Fingerprint()
	default:
		s.Taken, s.Refused, s.Why, s.Fingerprint = 0, version, err.Error(), ""
	}
	changed := *s != before
	k.d.mu.Unlock()
	if changed {
		k.client.Changed()
	}
}

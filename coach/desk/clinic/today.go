package clinic

import (
	"context"
	"fmt"

	"evenbell/coach/protocol"
)

// loaded is how many people have a station when the demo begins.
const loaded = 4

// Live gets today ready, by the desk's clock as it is then: everybody who can
// come is screened and has an approved plan, and the first of them are loaded
// one onto each of the first two stations, the rest onto the third. It gives
// the tags on the first two, in the order of Bays.
func (p *Past) Live(ctx context.Context) ([]string, error) {
	if err := p.replace(ctx); err != nil {
		return nil, err
	}
	held, err := p.held(ctx)
	if err != nil {
		return nil, err
	}
	var ready []string
	for i := range p.people {
		who := &p.people[i]
		switch {
		case held[who.Tag], who.Record.Home != nil, i%5 == 4: // these have not come in yet
			continue
		}
		s, err := p.Desk.Screen(ctx, p.Assistant, who.Tag, p.readings(p.Today, who))
		if err != nil {
			return nil, fmt.Errorf("screening %s: %w", who.Tag, err)
		}
		if s.Result.Verdict == protocol.NotToday || len(ready) == loaded {
			continue
		}
		if err := p.review(ctx, who.Tag); err != nil {
			return nil, fmt.Errorf("%s: %w", who.Tag, err)
		}
		ready = append(ready, who.Tag)
	}
	if len(ready) < loaded {
		return nil, fmt.Errorf("only %d of the invented people can come today", len(ready))
	}
	for i, tags := range [][]string{ready[:1], ready[1:2], ready[2:]} {
		if _, err := p.Desk.Load(ctx, p.Supervisor, Bays[i].Name, p.Today, tags...); err != nil {
			return nil, fmt.Errorf("loading %s: %w", Bays[i].Name, err)
		}
	}
	return ready[:2], nil
}

// replace puts new boxes at the first two places, whose logs begin today.
func (p *Past) replace(ctx context.Context) error {
	for _, b := range Bays[:2] {
		old := b.Name + " (old box)"
		if err := p.Desk.RenameStation(ctx, p.Admin, b.Name, old, ""); err != nil {
			return err
		}
		if err := p.Desk.Revoke(ctx, p.Admin, old); err != nil {
			return err
		}
		if _, _, _, err := p.Desk.Code(ctx, p.Admin, b.Name); err != nil {
			return err
		}
		if err := p.Desk.RenameStation(ctx, p.Admin, b.Name, b.Name, b.Place); err != nil {
			return err
		}
	}
	return nil
}

// held is who nobody may coach now.
func (p *Past) held(ctx context.Context) (map[string]bool, error) {
	now, err := p.Desk.Now(ctx, p.Assistant)
	if err != nil {
		return nil, err
	}
	held := make(map[string]bool)
	for _, h := range now.Holds {
		held[h.Tag] = true
	}
	return held, nil
}

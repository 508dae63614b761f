package web

import (
	"errors"
	"net/http"
	"strconv"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/protocol"
)

// protocolPage is the protocol in force, what differs from the defaults, and
// the versions.
type protocolPage struct {
	Read     *protocol.Protocol
	Version  *desk.ProtocolVersion // the page is about it; nil for the built-in values
	Limits   []protocol.Limit
	Rules    []protocol.Condition
	Differ   map[protocol.Key]protocol.Difference
	Versions []desk.ProtocolVersion // newest first
	Can      map[string]bool
}

func showProtocol(v *visit) error {
	read, err := v.desk().Protocol(v.ctx())
	if err != nil {
		return err
	}
	p, err := v.protocolPage(read)
	if err != nil {
		return err
	}
	for i := range p.Versions {
		if p.Versions[i].InForce {
			p.Version = &p.Versions[i]
		}
	}
	return v.page("protocol", "Protocol in force", p)
}

func (v *visit) protocolPage(read *protocol.Protocol) (*protocolPage, error) {
	all, err := v.desk().Protocols(v.ctx(), v.who)
	if err != nil {
		return nil, err
	}
	p := &protocolPage{Read: read, Versions: all, Differ: map[protocol.Key]protocol.Difference{}, Can: v.can(desk.WriteProtocol, desk.SignProtocol)}
	if read != nil {
		p.Limits, p.Rules = read.Limits(), read.Conditions()
		for _, d := range read.Differences() {
			p.Differ[d.Key] = d
		}
	}
	return p, nil
}

func showProtocolVersion(v *visit) error {
	p, err := v.protocolPage(nil)
	if err != nil {
		return err
	}
	for i, one := range p.Versions {
		if strconv.FormatInt(one.Version, 10) != v.r.PathValue("version") {
			continue
		}
		if one.Read == nil {
			return &problem{http.StatusConflict, "That version can't be read any more", "This program reads its format no longer. Write it anew from the version in force."}
		}
		if p, err = v.protocolPage(one.Read); err != nil {
			return err
		}
		p.Version = &p.Versions[i]
		return v.page("protocol", "Protocol, version "+v.r.PathValue("version"), p)
	}
	return missing("version of the protocol")
}

func signProtocol(v *visit) error {
	n, err := strconv.ParseInt(v.r.PathValue("version"), 10, 64)
	if err != nil {
		return missing("version of the protocol")
	}
	f, err := v.sent()
	if err != nil {
		return err
	}
	if f.Get("read") == "" {
		return v.backBad("/clinic/protocol/"+v.r.PathValue("version")+"#sign", "Say that you have gone over every difference. Nothing was signed.")
	}
	if err := v.desk().SignProtocol(v.ctx(), v.who, n); err != nil {
		return err
	}
	return v.back("/clinic/protocol", "Version %d is in force, signed by %s. Plans on stations stay as they were approved; new ones are checked by it.", n, v.who.Name)
}

// protocolForm is the text of a new version.
type protocolForm struct{ Form *form }

func showProtocolForm(v *visit) error {
	read, err := v.desk().Protocol(v.ctx())
	if err != nil {
		return err
	}
	text := string(read.TOML())
	all, err := v.desk().Protocols(v.ctx(), v.who)
	if err != nil {
		return err
	}
	if len(all) > 0 && v.r.URL.Query().Get("from") != "force" {
		text = all[0].Text
	}
	return v.page("protocol-write", "A new version of the protocol", protocolForm{newForm("text", text)})
}

func writeProtocol(v *visit) error {
	f, err := v.sent()
	if err != nil {
		return err
	}
	got, err := v.desk().WriteProtocol(v.ctx(), v.who, f.value("text"))
	var faulty desk.Faulty
	switch {
	case err == nil:
		return v.back("/clinic/protocol/"+strconv.FormatInt(got.Version, 10), "Version %d is kept. It holds once a supervisor has signed it.", got.Version)
	case errors.As(err, &faulty):
		for _, x := range coach.Errors(faulty.Faults) {
			f.fault("text", "Line %d, %s %s.", x.Line, x.Key, x.Message)
		}
		return v.again("protocol-write", "A new version of the protocol", protocolForm{f})
	}
	if err := f.refused(err); err != nil {
		return err
	}
	return v.again("protocol-write", "A new version of the protocol", protocolForm{f})
}

package web

import (
	"bytes"
	"fmt"
	"net/http"

	"evenbell/coach/desk"
	"evenbell/coach/desk/record"
	"evenbell/coach/desk/store"
)

// incidentPage is everything around one session, to print, with the form of
// what was done and how it ended.
type incidentPage struct {
	*record.Report
	ID    string
	Needs []store.Attention
	Holds []store.Hold
	Can   map[string]bool
}

// incident is the session in the address with everything around it.
func (v *visit) incident() (record.Incident, *record.Report, error) {
	in, err := v.gather().Incident(v.ctx(), v.r.PathValue("id"))
	if err != nil {
		return in, nil, err
	}
	report, err := in.Report()
	return in, report, err
}

func showIncident(v *visit) error {
	in, report, err := v.incident()
	if err != nil {
		return err
	}
	p := incidentPage{Report: report, ID: in.Session, Needs: in.Attentions, Holds: in.Holds, Can: v.can(desk.ClosePlace, desk.SeeReview)}
	return v.page("incident", "Incident: session of "+in.Patient.Tag, p)
}

// sendIncident sends the incident's file: json, jsonl or csv.
func sendIncident(v *visit) error {
	in, report, err := v.incident()
	if err != nil {
		return err
	}
	name := "incident-" + in.Patient.Tag + "-" + fileDay(v)
	var b bytes.Buffer
	if form := v.r.PathValue("form"); form == "json" {
		if err := report.WriteJSON(&b); err != nil {
			return err
		}
		return v.attach(name+".json", "application/json", b.Bytes())
	} else if f, err := record.ParseFormat(form); err != nil {
		return missing("form of an incident")
	} else if err := report.Write(&b, f); err != nil {
		return err
	} else {
		return v.attach(name+"."+string(f), formatTypes[f], b.Bytes())
	}
}

var formatTypes = map[record.Format]string{record.CSV: "text/csv; charset=utf-8", record.JSONL: "application/jsonl; charset=utf-8"}

func fileDay(v *visit) string { return string(v.today()) }

// attach sends a file to be kept.
func (v *visit) attach(name, kind string, data []byte) error {
	v.saveAs(name, kind)
	v.w.Header().Set("Content-Length", fmt.Sprint(len(data)))
	if v.r.Method != http.MethodHead {
		_, _ = v.w.Write(data) // the reader may have gone
	}
	return nil
}

// saveAs tells the browser to keep what comes under a name, made of tags, days
// and our own words alone.
func (v *visit) saveAs(name, kind string) {
	v.w.Header().Set("Content-Type", kind)
	v.w.Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", name))
}

package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"rsc.io/qr"

	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
)

// stationRoutes are the pages of the devices.
func stationRoutes() []route {
	return []route{
		{"GET /stations", desk.SeeNow, showStations},
		{"POST /stations", desk.ManageStations, addStation},
		{"GET /stations/{id}", desk.ManageStations, showStation},
		{"POST /stations/{id}/name", desk.ManageStations, renameStation},
		{"POST /stations/{id}/code", desk.ManageStations, newCode},
		{"GET /stations/{id}/code", desk.ManageStations, showCode},
		{"GET /stations/{id}/code.svg", desk.ManageStations, drawCode},
		{"POST /stations/{id}/revoke", desk.ManageStations, revokeStation},
	}
}

// stationsView lists the devices.
type stationsView struct {
	Stations []stationView
	Revoked  []store.Station
	Form     *form
	Who      desk.Actor
}

// stationView is one device with what it last said of itself.
type stationView struct {
	placeView
	// PlanKind and PlanWords say how far the newest plan is.
	PlanKind, PlanWords string
}

func showStations(v *visit) error {
	view, err := stationsOf(v)
	if err != nil {
		return err
	}
	view.Form = newForm()
	return v.page("stations", "Stations", view)
}

func stationsData(v *visit) (any, error) { return stationsOf(v) }

func stationsOf(v *visit) (stationsView, error) {
	view := stationsView{Who: v.who}
	now, err := v.desk().Now(v.ctx(), v.who)
	if err != nil {
		return view, err
	}
	all, err := v.desk().Stations(v.ctx(), v.who)
	if err != nil {
		return view, err
	}
	for _, st := range all {
		if st.Revoked != nil {
			view.Revoked = append(view.Revoked, st)
			continue
		}
		at := slices.IndexFunc(now.Stations, func(n desk.StationNow) bool { return n.ID == st.ID })
		live := desk.StationNow{Station: st}
		if at >= 0 {
			live = now.Stations[at]
		}
		view.Stations = append(view.Stations, v.station(live))
	}
	return view, nil
}

func (v *visit) station(st desk.StationNow) stationView {
	view := stationView{placeView: v.place(st)}
	switch p := st.Plan; {
	case p == nil:
		view.PlanKind, view.PlanWords = "info", "none for today"
	case p.Unknown():
		view.PlanKind, view.PlanWords = "bad", fmt.Sprintf("has plan %d, which this desk does not know; load its plan anew on the page of the day", p.Version)
	case p.Refused != "":
		view.PlanKind, view.PlanWords = "bad", "the station refuses plan "+fmt.Sprint(p.Version)+": "+p.Refused
	case p.TakenAt != nil:
		view.PlanKind, view.PlanWords = "good", fmt.Sprintf("coaches by plan %d", p.Version)
	case p.DeliveredAt != nil:
		view.PlanKind, view.PlanWords = "good", fmt.Sprintf("has plan %d", p.Version)
	default:
		view.PlanKind, view.PlanWords = "wait", fmt.Sprintf("plan %d is on its way", p.Version)
	}
	return view
}

// addStation adds a device by name and place and makes its first code.
func addStation(v *visit) error {
	view, err := stationsOf(v)
	if err != nil {
		return err
	}
	if view.Form, err = v.sent(); err != nil {
		return err
	}
	f := view.Form
	name := f.need("name", "Give the station a name, such as Bay 3.")
	taken := func(s stationView) bool { return strings.EqualFold(s.Name, name) }
	if slices.ContainsFunc(view.Stations, taken) {
		f.fault("name", "There is a station of that name already; its own page gives it a new code.")
	}
	if f.ok() {
		id, err := enrol(v, name, f.Get("place"))
		if err == nil {
			return v.to(fmt.Sprintf("/stations/%d/code", id))
		}
		if !f.takes(err) {
			return err
		}
	}
	return v.again("stations", "Stations", view)
}

// enrol makes a code for a name and says where the station stands.
func enrol(v *visit, name, place string) (int64, error) {
	if _, _, _, err := v.desk().Code(v.ctx(), v.who, name); err != nil {
		return 0, err
	}
	if place != "" {
		if err := v.desk().RenameStation(v.ctx(), v.who, name, name, place); err != nil {
			return 0, err
		}
	}
	all, err := v.desk().Stations(v.ctx(), v.who)
	if err != nil {
		return 0, err
	}
	for _, st := range all {
		if st.Name == name {
			return st.ID, nil
		}
	}
	return 0, fmt.Errorf("station %q is not there after it was added", name)
}

// oneStation is the page of a device, for whoever looks after it.
type oneStation struct {
	Station stationView
	Form    *form
}

func (v *visit) oneStation() (oneStation, error) {
	id, err := v.number("id")
	if err != nil {
		return oneStation{}, err
	}
	all, err := stationsOf(v)
	if err != nil {
		return oneStation{}, err
	}
	for _, st := range all.Stations {
		if st.ID == id {
			return oneStation{Station: st, Form: newForm("name", st.Name, "place", st.Station.Place)}, nil
		}
	}
	return oneStation{}, missing("station")
}

func showStation(v *visit) error {
	view, err := v.oneStation()
	if err != nil {
		return err
	}
	return v.page("station", view.Station.Name, view)
}

func renameStation(v *visit) error {
	view, err := v.oneStation()
	if err != nil {
		return err
	}
	if view.Form, err = v.sent(); err != nil {
		return err
	}
	f := view.Form
	name := f.need("name", "Give the station a name, such as Bay 3.")
	if f.ok() {
		err := v.desk().RenameStation(v.ctx(), v.who, view.Station.Name, name, f.Get("place"))
		if err == nil {
			return v.back("/stations", "%s is now called so, and stands at: %s.", name, orDash(f.Get("place")))
		}
		if !f.takes(err) {
			return err
		}
	}
	return v.again("station", view.Station.Name, view)
}

func orDash(s string) string {
	if s == "" {
		return "–"
	}
	return s
}

func newCode(v *visit) error {
	view, err := v.oneStation()
	if err != nil {
		return err
	}
	if _, _, _, err := v.desk().Code(v.ctx(), v.who, view.Station.Name); err != nil {
		return err
	}
	return v.to(fmt.Sprintf("/stations/%d/code", view.Station.ID))
}

func revokeStation(v *visit) error {
	view, err := v.oneStation()
	if err != nil {
		return err
	}
	if view.Form, err = v.sent(); err != nil {
		return err
	}
	f := view.Form
	f.need("sure", "Tick that this station is to be shut out.")
	if f.ok() {
		if err := v.desk().Revoke(v.ctx(), v.who, view.Station.Name); err != nil {
			return err
		}
		return v.back("/stations", "%s is shut out. Its log and its plans stay here.", view.Station.Name)
	}
	f.Values.Set("name", view.Station.Name)
	f.Values.Set("place", view.Station.Station.Place)
	return v.again("station", view.Station.Name, view)
}

// codeSheet is the page that lets one device in.
type codeSheet struct {
	Station stationView
	Open    *store.EnrolmentCode // nil where it was used or has run out
	Address string               // of this desk
	Plain   bool                 // browsers come without TLS, so stations can't come this way
	Command string
	In      bool // the device has come in since the code was made
}

func (v *visit) codeSheet() (codeSheet, error) {
	one, err := v.oneStation()
	if err != nil {
		return codeSheet{}, err
	}
	view := codeSheet{Station: one.Station, Plain: v.site.Plain, Address: "https://" + v.r.Host}
	open, err := v.desk().Store().OpenCodes(v.ctx(), v.desk().Time())
	if err != nil {
		return view, fmt.Errorf("looking for the code: %w", err)
	}
	for _, c := range open {
		if c.Station == one.Station.ID {
			view.Open = &c
			view.Command = fmt.Sprintf("station enrol --desk %s --code %s --data /var/lib/evenbell", view.Address, c.Code)
		}
	}
	if at := one.Station.Enrolled; at != nil && view.Open == nil {
		view.In = v.now.Sub(*at) < time.Hour
	}
	return view, nil
}

func codeData(v *visit) (any, error) {
	v.pathNumber("id")
	return v.codeSheet()
}

// pathNumber takes the number in the address of the page, which the address of
// its news does not have: "/stations/7/code".
func (v *visit) pathNumber(name string) {
	if parts := strings.Split(strings.Trim(v.r.URL.Path, "/"), "/"); len(parts) > 1 {
		v.r.SetPathValue(name, parts[1])
	}
}

func showCode(v *visit) error {
	view, err := v.codeSheet()
	if err != nil {
		return err
	}
	return v.page("station-code", "Let "+view.Station.Name+" in", view)
}

// drawCode is the code as a picture for a camera: an address of our own kind,
// with the desk's and the code in it.
func drawCode(v *visit) error {
	view, err := v.codeSheet()
	if err != nil {
		return err
	}
	if view.Open == nil {
		return missing("code")
	}
	text := "evenbell-enrol:?" + url.Values{"desk": {view.Address}, "code": {view.Open.Code}}.Encode()
	q, err := qr.Encode(text, qr.M)
	if err != nil {
		return fmt.Errorf("drawing a code: %w", err)
	}
	v.w.Header().Set("Content-Type", "image/svg+xml")
	v.w.WriteHeader(http.StatusOK)
	_, _ = v.w.Write(qrPicture(q)) // the reader may have gone
	return nil
}

// qrPicture draws a QR code dark on light with the four modules of margin that
// readers need, whatever the page's own colours are.
func qrPicture(q *qr.Code) []byte {
	const margin = 4
	side := q.Size + 2*margin
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %[1]d %[1]d" shape-rendering="crispEdges"><rect width="%[1]d" height="%[1]d" fill="#fff"/><path fill="#000" d="`, side)
	for y := range q.Size {
		for x := 0; x < q.Size; x++ {
			from := x
			for x < q.Size && q.Black(x, y) {
				x++
			}
			if x > from {
				fmt.Fprintf(&b, "M%d %dh%dv1h-%dz", from+margin, y+margin, x-from, x-from)
			}
		}
	}
	b.WriteString(`"/></svg>`)
	return []byte(b.String())
}

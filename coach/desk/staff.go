package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"evenbell/coach/desk/store"
)

// Staff lists the members of staff, without their passwords (ManageStaff).
func (d *Desk) Staff(ctx context.Context, who Actor) ([]store.Staff, error) {
	if err := who.check(ManageStaff); err != nil {
		return nil, err
	}
	all, err := d.store.StaffList(ctx)
	for i := range all {
		all[i].Password = ""
	}
	return all, err
}

// AddStaff makes an account.
func (d *Desk) AddStaff(ctx context.Context, who Actor, name string, role store.Role, password string) (store.Staff, error) {
	if err := who.check(ManageStaff); err != nil {
		return store.Staff{}, err
	}
	name = strings.TrimSpace(name)
	if err := properLine("name", name, 60); err != nil {
		return store.Staff{}, err
	}
	if reserved(name) {
		return store.Staff{}, refuse("name", "%q stands for something else in the records; choose another", name)
	}
	if err := properRole(role); err != nil {
		return store.Staff{}, err
	}
	encoded, err := encodePassword(password, d.random)
	if err != nil {
		return store.Staff{}, err
	}
	m := store.Staff{Name: name, Role: role, Password: encoded, Created: d.Time()}
	err = d.change(ctx, func(ctx context.Context) (err error) {
		if m, err = d.store.AddStaff(ctx, m); err != nil {
			return err
		}
		return d.audit(ctx, who, ManageStaff, m.Name, "added as "+string(role))
	})
	if errors.Is(err, store.ErrTaken) {
		return m, refuse("name", "%q is the name of another account already", name)
	}
	m.Password = ""
	return m, err
}

// reserved reports whether a name is one that records use for what is nobody.
func reserved(name string) bool {
	n := strings.ToLower(name)
	return slices.Contains([]string{"telephone", "desk", byDesk, "a device", "command line"}, n) || strings.HasPrefix(n, "command line,")
}

func properRole(r store.Role) error {
	switch r {
	case store.Supervisor, store.Assistant, store.Admin:
		return nil
	}
	return refuse("role", "%q is no role; one of supervisor, assistant, admin", r)
}

// properLine refuses what is no line of text.
func properLine(field, s string, most int) error {
	switch n := len([]rune(s)); {
	case n == 0:
		return refuse(field, "is empty")
	case n > most:
		return refuse(field, "has %d letters; at most %d", n, most)
	case !utf8.ValidString(s) || strings.ContainsFunc(s, unseen):
		return refuse(field, "has a sign in it that does not print")
	}
	return nil
}

// unseen reports whether a sign does not print or turns the direction of what
// does. The joiners some scripts are written with are let be.
func unseen(r rune) bool {
	return unicode.IsControl(r) || unicode.Is(unicode.Cf, r) && r != '\u200c' && r != '\u200d'
}

func (d *Desk) staffNamed(ctx context.Context, name string) (store.Staff, error) {
	m, err := d.store.StaffByName(ctx, strings.TrimSpace(name))
	if errors.Is(err, store.ErrNotFound) {
		return m, fmt.Errorf("%w: no account is named %q", ErrNotFound, name)
	}
	return m, err
}

// SetPassword gives an account a new password; all its logins end.
func (d *Desk) SetPassword(ctx context.Context, who Actor, name, password string) error {
	if err := who.check(ManageStaff); err != nil {
		return err
	}
	m, err := d.staffNamed(ctx, name)
	if err != nil {
		return err
	}
	return d.savePassword(ctx, who, ManageStaff, m, password)
}

func (d *Desk) savePassword(ctx context.Context, who Actor, as Action, m store.Staff, password string) error {
	encoded, err := encodePassword(password, d.random)
	if err != nil {
		return err
	}
	return d.change(ctx, func(ctx context.Context) error {
		if err := d.store.SetPassword(ctx, m.ID, encoded); err != nil {
			return err
		}
		if err := d.store.EndLoginsOf(ctx, m.ID); err != nil {
			return err
		}
		return d.audit(ctx, who, as, m.Name, "new password")
	})
}

// SetRole changes what an account may do; its logins end.
func (d *Desk) SetRole(ctx context.Context, who Actor, name string, role store.Role) error {
	if err := who.check(ManageStaff); err != nil {
		return err
	}
	if err := properRole(role); err != nil {
		return err
	}
	return d.changeStaff(ctx, who, name, "now "+string(role), role != store.Admin, func(ctx context.Context, id int64) error {
		return d.store.SetRole(ctx, id, role)
	})
}

// SetDisabled shuts an account or opens it again. One admin always stays.
func (d *Desk) SetDisabled(ctx context.Context, who Actor, name string, disabled bool) error {
	what := "opened"
	if disabled {
		what = "disabled"
	}
	return d.changeStaff(ctx, who, name, what, disabled, func(ctx context.Context, id int64) error {
		return d.store.SetDisabled(ctx, id, disabled)
	})
}

// changeStaff changes an account and ends its logins; loses says that the
// account can then manage nothing any more.
func (d *Desk) changeStaff(ctx context.Context, who Actor, name, what string, loses bool, change func(context.Context, int64) error) error {
	if err := who.check(ManageStaff); err != nil {
		return err
	}
	return d.change(ctx, func(ctx context.Context) error {
		m, err := d.staffNamed(ctx, name)
		if err != nil {
			return err
		}
		if loses && m.Role == store.Admin && !m.Disabled {
			if err := d.anotherAdmin(ctx, m.ID); err != nil {
				return err
			}
		}
		if err := change(ctx, m.ID); err != nil {
			return err
		}
		if err := d.store.EndLoginsOf(ctx, m.ID); err != nil {
			return err
		}
		return d.audit(ctx, who, ManageStaff, m.Name, what)
	})
}

func (d *Desk) anotherAdmin(ctx context.Context, but int64) error {
	all, err := d.store.StaffList(ctx)
	if err != nil {
		return err
	}
	for _, m := range all {
		if m.ID != but && m.Role == store.Admin && !m.Disabled {
			return nil
		}
	}
	return refuse("name", "is the only admin; make another account admin first")
}

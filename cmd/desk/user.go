package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"evenbell/coach/desk/store"
)

func (p *program) user() *cobra.Command {
	return group("user", "Staff accounts", `User looks after the accounts by which staff log in. It is for whoever may use
this machine: it asks for no login, and everything it does is in the audit trail.`,
		p.userAdd(), p.userList(), p.userPassword(), p.userDisable())
}

// passwordFlag says where a password comes from.
func passwordFlag(c *cobra.Command, stdin *bool) {
	c.Flags().BoolVar(stdin, "password-stdin", false, "read the password from standard input, one line")
}

// password reads a password: a line of standard input, or typed twice at a
// terminal without being shown.
func (p *program) password(fromStdin bool) (string, error) {
	if fromStdin {
		line, err := bufio.NewReader(io.LimitReader(p.stdin, 4096)).ReadString('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return "", failed(fmt.Errorf("reading the password: %w", err))
		}
		return strings.TrimRight(line, "\r\n"), nil
	}
	f, ok := p.stdin.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return "", errors.New("say --password-stdin and give the password on standard input; there is no terminal to type it at")
	}
	return p.typedPassword(int(f.Fd()))
}

func (p *program) typedPassword(fd int) (string, error) {
	var typed [2]string
	for i, ask := range []string{"Password: ", "Again: "} {
		fmt.Fprint(p.stderr, ask)
		b, err := term.ReadPassword(fd)
		fmt.Fprintln(p.stderr)
		if err != nil {
			return "", failed(fmt.Errorf("reading the password: %w", err))
		}
		typed[i] = string(b)
	}
	if typed[0] != typed[1] {
		return "", failed(errors.New("the two passwords are not the same"))
	}
	return typed[0], nil
}

func (p *program) userAdd() *cobra.Command {
	var dir, name, role string
	var stdin bool
	c := &cobra.Command{
		Use:   "add --data DIR --name N --role supervisor|assistant|admin --password-stdin",
		Short: "Make a staff account",
		Long: `Add makes an account. A supervisor approves plans and proposals and clears stops;
an assistant runs the day; an admin manages staff, stations and the protocol.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			word, err := p.password(stdin)
			if err != nil {
				return err
			}
			return p.with(c.Context(), dir, func(d *opened) error {
				m, err := d.AddStaff(c.Context(), d.who, name, store.Role(role), word)
				if err == nil {
					fmt.Fprintf(p.stdout, "%s may log in as %s\n", m.Name, m.Role)
				}
				return err
			})
		},
	}
	dataFlag(c, &dir)
	c.Flags().StringVar(&name, "name", "", "the `NAME` to log in and approve by, such as \"R. Okafor\"")
	c.Flags().StringVar(&role, "role", "", "supervisor, assistant or admin")
	passwordFlag(c, &stdin)
	_ = c.MarkFlagRequired("name")
	_ = c.MarkFlagRequired("role")
	return c
}

func (p *program) userList() *cobra.Command {
	var dir string
	c := &cobra.Command{
		Use: "list --data DIR", Short: "Who may log in",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return p.with(c.Context(), dir, func(d *opened) error {
				all, err := d.Staff(c.Context(), d.who)
				for _, m := range all {
					state := ""
					if m.Disabled {
						state = ", disabled"
					}
					fmt.Fprintf(p.stdout, "%s: %s%s\n", m.Name, m.Role, state)
				}
				return err
			})
		},
	}
	dataFlag(c, &dir)
	return c
}

func (p *program) userPassword() *cobra.Command {
	var dir, name string
	var stdin bool
	c := &cobra.Command{
		Use: "password --data DIR --name N --password-stdin", Short: "Give an account a new password",
		Long: `Password gives an account a new password. Wherever it is logged in, that ends.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			word, err := p.password(stdin)
			if err != nil {
				return err
			}
			return p.with(c.Context(), dir, func(d *opened) error {
				err := d.SetPassword(c.Context(), d.who, name, word)
				if err == nil {
					fmt.Fprintf(p.stdout, "%s has a new password\n", name)
				}
				return err
			})
		},
	}
	dataFlag(c, &dir)
	c.Flags().StringVar(&name, "name", "", "the account's `NAME`")
	passwordFlag(c, &stdin)
	_ = c.MarkFlagRequired("name")
	return c
}

func (p *program) userDisable() *cobra.Command {
	var dir, name string
	var again bool
	c := &cobra.Command{
		Use: "disable --data DIR --name N [--undo]", Short: "Shut an account, or open it again",
		Long: `Disable shuts an account: nobody can log in by it, and where it is logged in, that
ends. What was approved and done by its name stays. The last admin can't be shut.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return p.with(c.Context(), dir, func(d *opened) error {
				return d.SetDisabled(c.Context(), d.who, name, !again)
			})
		},
	}
	dataFlag(c, &dir)
	c.Flags().StringVar(&name, "name", "", "the account's `NAME`")
	c.Flags().BoolVar(&again, "undo", false, "open it again")
	_ = c.MarkFlagRequired("name")
	return c
}

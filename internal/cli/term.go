package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"

	"golang.org/x/term"

	"spanseal/internal/diag"
	"spanseal/internal/judge"
	"spanseal/internal/plain"
)

// terminal returns the stream's file where it is a terminal.
func terminal(stream any) (*os.File, bool) {
	f, ok := stream.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return nil, false
	}
	return f, true
}

// style colours text, or does not: meaning never hangs on colour alone.
type style struct{ colour bool }

// styleFor colours only on a terminal that can, and never with NO_COLOR set
// (no-color.org).
func styleFor(w io.Writer, getenv func(string) string) style {
	f, ok := terminal(w)
	return style{ok && getenv("NO_COLOR") == "" && getenv("TERM") != "dumb" && enableColour(f)}
}

// sgr wraps text in an ECMA-48 graphic rendition.
func (s style) sgr(code, text string) string {
	if !s.colour || text == "" {
		return text
	}
	return "\x1b[" + code + "m" + text + "\x1b[0m"
}

func (s style) bad(t string) string    { return s.sgr("1;31", t) }
func (s style) asked(t string) string  { return s.sgr("1;33", t) }
func (s style) good(t string) string   { return s.sgr("32", t) }
func (s style) strong(t string) string { return s.sgr("1", t) }
func (s style) dim(t string) string    { return s.sgr("2", t) }

// paint colours the pieces of a report of problems.
func (s style) paint(role diag.Role, t string) string {
	switch role {
	case diag.RoleError:
		return s.bad(t)
	case diag.RoleQuestion, diag.RoleCaret:
		return s.asked(t)
	case diag.RoleNote:
		return s.strong(t)
	}
	return s.dim(t)
}

// verdict prints a verdict's word, in capitals where it is not a pass.
func (s style) verdict(v judge.Verdict, width int) string {
	word := v.String()
	pad := strings.Repeat(" ", max(width-len(word), 0))
	switch v {
	case judge.Pass:
		return s.good(word) + pad
	case judge.Marginal:
		return s.asked(strings.ToUpper(word)) + pad
	}
	return s.bad(strings.ToUpper(word)) + pad
}

// passphraseVariable is the environment variable that may hold a passphrase.
// There is no flag for one: arguments are visible to every user of a machine.
const passphraseVariable = "SPANSEAL_PASSPHRASE"

// passphrase finds the passphrase of a key: in a file, in the environment, or
// by asking on a terminal (twice, for a new key).
func (a *app) passphrase(file, key string, isNew bool) (string, error) {
	if file != "" {
		b, err := os.ReadFile(file)
		if err != nil {
			return "", refuse("name a file whose first line is the passphrase", "the passphrase file %s cannot be read: %v", diag.Safe(file), plain.Cause(err))
		}
		line, _, _ := strings.Cut(string(b), "\n")
		return strings.TrimSuffix(line, "\r"), nil
	}
	if p := a.sys.Getenv(passphraseVariable); p != "" {
		return p, nil
	}
	in, ok := terminal(a.sys.Stdin)
	if !ok {
		return "", refuse("run in a terminal, name a file with --passphrase-file, or set "+passphraseVariable,
			"the key %s needs a passphrase and there is no terminal to ask on", key)
	}
	fd := int(in.Fd())
	shown, err := term.GetState(fd)
	if err != nil {
		return "", err
	}
	ask := func(prompt string) (string, error) {
		fmt.Fprint(a.err, prompt)
		defer fmt.Fprintln(a.err)
		defer term.Restore(fd, shown) // whoever gives up has a terminal that echoes
		return answer(func() (string, error) {
			b, err := term.ReadPassword(fd)
			return string(b), err
		})
	}
	p, err := ask(fmt.Sprintf("passphrase of %s: ", key))
	if err != nil || !isNew {
		return p, err
	}
	again, err := ask("once more: ")
	if err == nil && p != again {
		return "", refuse("run the command again", "the two passphrases differ")
	}
	return p, err
}

// answer waits for a person, who may give up with an interrupt.
func answer(read func() (string, error)) (string, error) {
	ctx, stop := signal.NotifyContext(context.Background(), endings()...)
	defer stop()
	type reply struct {
		text string
		err  error
	}
	replies := make(chan reply, 1)
	go func() {
		text, err := read()
		replies <- reply{text, err}
	}()
	select {
	case r := <-replies:
		return r.text, r.err
	case <-ctx.Done():
		return "", &failure{ExitTool, "stopped; nothing was written", ""}
	}
}

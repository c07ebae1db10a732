package cli

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"strings"

	"golang.org/x/term"

	"spanseal/internal/diag"
	"spanseal/internal/keyfile"
	"spanseal/internal/plain"
	"spanseal/internal/terminal"
)

// progress returns the line that shows how far something is, which is silent on
// anything but a terminal.
func (a *app) progress(what string) *terminal.Progress {
	return terminal.NewProgress(a.err, a.sys.Now, what)
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
	in, ok := terminal.File(a.sys.Stdin)
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

// secret asks for the passphrase of a key that is there.
func (a *app) secret(passFile string) keyfile.Prompt {
	return func(path string) (string, error) { return a.passphrase(passFile, path, false) }
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

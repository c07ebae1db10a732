// Package cli reads flags, wires the packages together and chooses exit codes.
// Nobody else touches the arguments, the standard streams, the environment or
// the clock; all of them come in as a [System].
//
// Exit codes: 0 all well; 1 the tool failed; 2 usage; 3 input refused, nothing
// written; 4 read well, but some link is not pass or marginal; 5 a signature
// or hash is wrong; 6 all intact, but the signer is not among those trusted.
//
// Results go to standard output, problems and progress to standard error.
package cli

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"slices"
	"strings"
	"syscall"
	"time"

	"github.com/inconshreveable/mousetrap"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"spanseal/internal/diag"
	"spanseal/internal/keyfile"
	"spanseal/internal/manual"
	"spanseal/internal/near"
	"spanseal/internal/report"
	"spanseal/internal/terminal"
	"spanseal/templates"
)

// The exit codes of the program. Scripts rely on them.
const (
	ExitOK        = 0
	ExitTool      = 1
	ExitUsage     = 2
	ExitRefused   = 3
	ExitOpen      = 4
	ExitWrong     = 5
	ExitUntrusted = 6
)

// System is the outside world as the program sees it.
type System struct {
	Program string   // what a person types to run it, for the hints
	Args    []string // without the program's own name
	Stdin   io.Reader
	Stdout  io.Writer
	Stderr  io.Writer
	Getenv  func(string) string
	Now     func() time.Time
	// KeyRounds is how often the passphrase of a new key file is hashed: 0
	// means [seal.Rounds]. Only tests, which make keys by the hundred, say less.
	KeyRounds int
	// Window says that a desktop opened a window for this run, which closes
	// with it.
	Window bool
}

// OS is the real world.
func OS() System {
	return System{
		Program: program(os.Args[0]), Args: os.Args[1:],
		Stdin: os.Stdin, Stdout: os.Stdout, Stderr: os.Stderr,
		Getenv: os.Getenv, Now: time.Now,
		Window: mousetrap.StartedByExplorer(),
	}
}

// program says how the program was run, so that hints can be typed as they
// stand: "go run" puts it into a folder of its own below go-build.
func program(path string) string {
	if strings.Contains(path, "go-build") {
		return "go run ./cmd/spanseal"
	}
	return "spanseal"
}

// app is one run of the program.
type app struct {
	sys    System
	out    *bufio.Writer // results
	err    io.Writer     // problems and progress
	onOut  terminal.Style
	onErr  terminal.Style
	print  *report.Printer // of results
	status int             // the exit code where no failure says otherwise
}

// Main runs the program once and returns its exit code.
func Main(sys System) (code int) {
	a := &app{
		sys:   sys,
		out:   bufio.NewWriter(sys.Stdout),
		err:   sys.Stderr,
		onOut: terminal.StyleFor(sys.Stdout, sys.Getenv),
		onErr: terminal.StyleFor(sys.Stderr, sys.Getenv),
	}
	a.print = report.NewPrinter(a.out, a.onOut, sys.Program)
	defer func() {
		if fault := recover(); fault != nil { // a bare panic would exit with 2, which means usage
			fmt.Fprintf(a.err, "spanseal: a fault of the program, please report it: %v\n%s", fault, debug.Stack())
			code = ExitTool
		}
	}()
	ctx, stop := signal.NotifyContext(context.Background(), endings()...)
	defer stop()
	context.AfterFunc(ctx, stop) // whoever interrupts twice means it

	root := a.root()
	root.SetArgs(a.dropped())
	err := root.ExecuteContext(ctx)
	err = errors.Join(err, a.out.Flush())
	code = a.conclude(err)
	a.linger()
	return code
}

// endings are the signals that end a run, which then cleans up after itself: an
// interrupt, the end of the system, and a terminal that is closed, unless
// whoever started the run said that it is to go on without one (nohup).
func endings() []os.Signal {
	signals := []os.Signal{os.Interrupt, syscall.SIGTERM}
	if !signal.Ignored(syscall.SIGHUP) {
		signals = append(signals, syscall.SIGHUP)
	}
	return signals
}

// conclude prints what ended the run and returns its exit code.
func (a *app) conclude(err error) int {
	if err == nil {
		return a.status
	}
	f := &failure{code: ExitTool, what: err.Error()}
	if key := (*keyfile.Refusal)(nil); errors.As(err, &key) {
		f = &failure{ExitRefused, key.What, key.Fix}
	}
	errors.As(err, &f)
	fmt.Fprintf(a.err, "%s %s\n", a.onErr.Bad("error:"), f.what)
	if f.fix != "" {
		fmt.Fprintf(a.err, "     = fix: %s\n", f.fix)
	}
	return f.code
}

// failure ends a run: its exit code, the cause and the way out.
type failure struct {
	code int
	what string
	fix  string
}

func (f *failure) Error() string { return f.what }

// refuse is a failure of the input: nothing was written.
func refuse(fix, format string, args ...any) error {
	return &failure{ExitRefused, fmt.Sprintf(format, args...), fix}
}

// misuse is a failure to say what is wanted.
func misuse(fix, format string, args ...any) error {
	return &failure{ExitUsage, fmt.Sprintf(format, args...), fix}
}

// What cobra keeps for all trees of commands is set once: a test runs several at the
// same time.
func init() {
	cobra.EnableCommandSorting = false // they stand in the order of a job
	cobra.MousetrapHelpText = ""       // a window is ours to keep open, see linger
}

// root is the tree of commands.
func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "spanseal",
		Short: "signed certificates from the measurements of a fibre job",
		Long: `spanseal reads a job folder of fibre measurements, judges every link against the
limits that were agreed, and writes a signed certificate for each link that
passes, with a summary. Anybody can check them later without a network.`,
		Example: `  spanseal demo                     a whole job to look at
  spanseal new harbour-library      a job folder with files to fill in
  spanseal check harbour-library    what is wrong and what is missing
  spanseal issue harbour-library    write and sign the certificates
  spanseal verify harbour-library/issued/r1 --trust signer.pem`,
		Version:       version(),
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          a.knownCommand,
		RunE:          func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetVersionTemplate("spanseal {{.Version}}\n")
	root.SetIn(a.sys.Stdin)
	root.SetOut(a.out)
	root.SetErr(a.err)
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		if bad := (*pflag.InvalidValueError)(nil); errors.As(err, &bad) && bad.GetFlag().Value.Type() == "int" {
			err = fmt.Errorf("--%s: %q is not a whole number", bad.GetFlag().Name, bad.GetValue())
		}
		return misuse(fmt.Sprintf("see `%s --help`", c.CommandPath()), "%v", err)
	})
	root.SetHelpTemplate(helpTemplate)
	root.SetHelpCommand(a.help())
	root.CompletionOptions.HiddenDefaultCmd = true
	root.AddCommand(
		a.demo(), a.create(), a.check(), a.explain(), a.issue(), a.pack(), a.verify(), a.renew(),
		a.compare(), a.find(), a.export(), a.key(), a.limits(), a.schema(), a.version(), a.docs(),
	)
	return root
}

// knownCommand refuses words that are no command, naming the near ones.
func (a *app) knownCommand(c *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	var known []string
	for _, sub := range c.Commands() {
		known = append(known, sub.Name())
	}
	fix := fmt.Sprintf("see `%s --help`", c.CommandPath())
	if near := near.Word(args[0], known); near != "" {
		fix = fmt.Sprintf("did you mean `%s %s`?", c.CommandPath(), near)
	} else if !c.HasParent() && isJob(args[0]) {
		fix = fmt.Sprintf("to see the state of the job: `%s check %s`", c.CommandPath(), terminal.Argument(args[0]))
	}
	_, group, _ := strings.Cut(c.CommandPath(), " ") // below the program itself
	return misuse(fix, "there is no command %q", strings.TrimSpace(group+" "+args[0]))
}

// help is "help COMMAND", for those who type it that way round, and "help TOPIC".
func (a *app) help() *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND | TOPIC]",
		Short: "what a command does, or how to write a file",
		Long:  "Prints what a command does, with examples, or a page on files that you edit:\n\n" + manual.TopicList(),
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 1 {
				if page, err := manual.Topic(templates.Files, args[0]); err == nil {
					_, err = a.out.Write(page)
					return err
				}
			}
			about, rest, err := c.Root().Find(args)
			if err = errors.Join(err, a.knownCommand(about, rest)); err != nil {
				if name := manual.NearTopic(args); name != "" {
					return misuse(fmt.Sprintf("did you mean `%s %s`?", c.CommandPath(), name), "there is no command or topic %q", diag.Safe(args[0]))
				}
				return err
			}
			about.InitDefaultHelpFlag() // as --help lists them
			about.InitDefaultVersionFlag()
			return about.Help()
		},
	}
}

// takes refuses a wrong number of arguments, and an empty one, in words.
func takes(least, most int, what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if slices.Contains(args, "") {
			return misuse(fmt.Sprintf("`%s`; see `%s --help`", c.UseLine(), c.CommandPath()),
				"%s: an argument is empty; is a variable not set?", c.CommandPath())
		}
		if len(args) >= least && (most < 0 || len(args) <= most) {
			return nil
		}
		return misuse(fmt.Sprintf("`%s`; see `%s --help`", c.UseLine(), c.CommandPath()), "%s wants %s", c.CommandPath(), what)
	}
}

// group is a command that only holds others.
func (a *app) group(c *cobra.Command, subs ...*cobra.Command) *cobra.Command {
	c.Args = a.knownCommand
	c.RunE = func(c *cobra.Command, _ []string) error { return c.Help() }
	c.AddCommand(subs...)
	return c
}

const helpTemplate = `{{with (or .Long .Short)}}{{. | trimTrailingWhitespaces}}

{{end}}{{if or .Runnable .HasSubCommands}}{{.UsageString}}{{end}}`

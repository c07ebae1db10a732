package cli_test

import (
	"errors"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"spanseal/internal/cli"
)

var (
	update = flag.Bool("update", false, "refresh the expectations of the scripts")
	long   = flag.Bool("long", false, "also run what takes minutes: two hundred kills, every hostile file")
)

// now is the clock of every test: the office, a week after the measurements.
func now() time.Time { return time.Date(2026, time.November, 25, 16, 0, 0, 0, time.UTC) }

// clock is that of the tests, or the one that a script sets.
func clock(getenv func(string) string) func() time.Time {
	if t, err := time.Parse(time.RFC3339, getenv("CLOCK")); err == nil {
		return func() time.Time { return t }
	}
	return now
}

// TestMain lets the scripts run the program inside this test's own binary.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"spanseal": func() {
			sys := cli.OS()
			sys.Program, sys.Now, sys.KeyRounds = "spanseal", clock(os.Getenv), 1
			code := cli.Main(sys)
			if at := os.Getenv("STATUS"); at != "" { // a test asks for the memory that was used
				status, _ := os.ReadFile("/proc/self/status")
				_ = os.WriteFile(at, status, 0o644)
			}
			os.Exit(code)
		},
	})
}

// TestScripts runs the program as a person would, script by script.
func TestScripts(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	scripts, err := filepath.Abs("../../testdata/script")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:           scripts,
		UpdateScripts: *update,
		Setup: func(e *testscript.Env) error {
			e.Setenv("SPANSEAL_PASSPHRASE", "low water at noon")
			e.Setenv("DEMO", filepath.Join(scripts, "../../templates/demo")) // its pictures
			// Every script starts with a small job that conforms.
			return os.CopyFS(filepath.Join(e.WorkDir, "cabinet"), os.DirFS(filepath.Join(scripts, "cabinet")))
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits": exits,
			"flip":  flip,
		},
	})
}

// inFolder is held by the one script whose folder is that of this process.
var inFolder sync.Mutex

// exits CODE PROGRAM ARG ... runs a program that must end with the exit code. Ours
// runs within this process, in the folder and with the environment of the script,
// for to start it takes longer than most of what it is to do here. Of a script that
// says env PROCESS=own it runs in one of its own: it is asked on a terminal.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE PROGRAM ARG ...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if args[1] == "spanseal" && ts.Getenv("PROCESS") == "" {
		got = within(ts, args[2:])
	} else if err := ts.Exec(args[1], args[2:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// within runs our program in this process.
func within(ts *testscript.TestScript, args []string) int {
	inFolder.Lock()
	defer inFolder.Unlock()
	before, err := os.Getwd()
	ts.Check(err)
	ts.Check(os.Chdir(ts.MkAbs(".")))
	defer os.Chdir(before)
	return cli.Main(cli.System{
		Program: "spanseal", KeyRounds: 1, Args: args,
		Stdin: strings.NewReader(""), Stdout: ts.Stdout(), Stderr: ts.Stderr(),
		Getenv: ts.Getenv, Now: clock(ts.Getenv),
	})
}

// flip FILE OFFSET changes one bit; a negative offset counts from the end.
func flip(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: flip FILE OFFSET")
	}
	path := ts.MkAbs(args[0])
	data, err := os.ReadFile(path)
	ts.Check(err)
	at, err := strconv.Atoi(args[1])
	ts.Check(err)
	if at < 0 {
		at += len(data)
	}
	data[at] ^= 1
	ts.Check(os.WriteFile(path, data, 0o644))
}

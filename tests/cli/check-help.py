"""The words of spate: each option of each help is completed, and is in the manual.

    check-help.py SPATE SOURCE-FOLDER
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile

import tap

SPATE = os.path.realpath(sys.argv[1])
ROOT = os.path.realpath(sys.argv[2])
TINY = os.path.join(ROOT, "tests/cli/tiny.yaml")

# Options of other commands that a page may name.
ELSEWHERE = {"report": {"detail"}}

COMPLETE = """source "$1"
shift
COMP_WORDS=("$@")
COMP_CWORD=$((${#COMP_WORDS[@]} - 1))
_spate
printf '%s\\n' "${COMPREPLY[@]}"
"""


def spate(*words):
    return subprocess.run([SPATE, *words], capture_output=True, text=True, check=True).stdout


def commands():
    return re.findall(r"^  ([a-z]+) ", spate("help"), re.M)


def options(command):
    """As its help lists them: name and value."""
    return re.findall(r"^  --([a-z-]+)(?: (\S+))?", spate(command, "--help"), re.M)


def complete(script, *words):
    """What bash offers for the last word."""
    done = subprocess.run(["bash", "-c", COMPLETE, "complete", script, SPATE, *words],
                          capture_output=True, text=True, check=False)
    if done.stderr:
        tap.check(f"bash completes {words}", False, done.stderr)
    return [line for line in done.stdout.split("\n") if line]


def check_bash(script):
    tap.equal("bash completes commands", complete(script, ""), commands())
    tap.equal("... from their first letters", complete(script, "comp"), ["compare"])
    for command in [*commands(), "completion"]:
        names = [f"--{name}" for name, _ in options(command)]
        tap.equal(f"bash completes all options of {command}", complete(script, command, "-"), names)
        for name, value in options(command):
            if re.fullmatch(r"[a-z0-9/]+(\|[a-z0-9/]+)+", value):
                tap.equal(f"... and the words of --{name}", complete(script, command, f"--{name}", ""),
                          value.split("|"))
    tap.equal("bash completes --format=j", complete(script, "run", "--format", "=", "j"), ["json"])
    tap.equal("... and --format=", complete(script, "run", "--format", "="),
              ["table", "json", "csv", "geojson"])
    tap.equal("no word is offered for a number", complete(script, "run", "--seed", ""), [])
    tap.equal("help takes commands and measures", complete(script, "help", ""),
              [*commands(), "measures"])
    tap.equal("variants are those of the scenario",
              complete(script, "run", TINY, "--variant", ""), ["base", "still", "brisk"])
    tap.equal("no scenario, no variants", complete(script, "run", "--variant", ""), [])
    open("a plan.yaml", "w", encoding="ascii").close()
    tap.equal("files are arguments, with blanks in their names",
              complete(script, "run", "a"), ["a plan.yaml"])
    tap.equal("... and values of options", complete(script, "new", "--output", "a"),
              ["a plan.yaml"])
    tap.equal("... but no arguments where there are none", complete(script, "new", "a"), [])


def check_other_shells():
    for shell in ["zsh", "fish"]:
        text = spate("completion", shell)
        dashes = "--" if shell == "zsh" else "-l "
        for command in commands():
            start = f"\n    {command})\n" if shell == "zsh" else f"_from {command}' -l"
            end = "\n        ;;\n" if shell == "zsh" else "\n\n"
            at = text.find(start)
            part = text[at:text.find(end, at)] if at >= 0 else ""
            lacks = [name for name, _ in options(command)
                     if not re.search(f"{dashes}{name}\\b(?!-)", part)]
            tap.equal(f"{shell} completes all options of {command}", lacks, [])
        if shutil.which(shell) is None:
            tap.skip(f"{shell} can read its script", f"{shell} is not installed")
            continue
        with open(f"script.{shell}", "w", encoding="utf-8") as script:
            script.write(text)
        done = subprocess.run([shell, "-n", f"script.{shell}"], capture_output=True, text=True,
                              check=False)
        tap.check(f"{shell} can read its script", done.returncode == 0 and not done.stderr,
                  done.stderr)


def read(*names):
    with open(os.path.join(ROOT, *names), encoding="utf-8") as text:
        return text.read()


def check_manual():
    overview, build = read("docs/man/spate.1.scd"), read("docs/man/meson.build")
    for command in commands():
        page = f"spate-{command}.1"
        tap.check(f"{page} is built, and spate.1 lists it",
                  f"'{page}'" in build and f"\n*spate {command}*" in overview and
                  f"*spate-{command}*(1)" in overview)
        if not os.path.exists(os.path.join(ROOT, "docs/man", page + ".scd")):
            tap.check(f"there is a page {page}", False)
            continue
        text = read("docs/man", page + ".scd")
        named = set(re.findall(r"\*--([a-z-]+)\*", text))
        listed = set(name for name, _ in options(command))
        tap.equal(f"{page} has all options, and no others than it and spate.1 explain",
                  (sorted(listed - named), sorted(named - listed - ELSEWHERE.get(command, set()))),
                  ([], []))
        for part in ["SYNOPSIS", "OPTIONS", "EXIT STATUS", "EXAMPLES", "SEE ALSO"]:
            tap.check(f"... and a section {part}", f"\n# {part}\n" in text)
        lines = re.findall(r"^spate (\w+)(.*)$", text.split("# EXAMPLES")[1], re.M)
        wrong = [name for word, rest in lines for name in re.findall(r"--([a-z-]+)", rest)
                 if name not in (option for option, _ in options(word))]
        tap.equal("... with examples of options that are there", (len(lines) > 0, wrong),
                  (True, []))


def main():
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        with open("spate.bash", "w", encoding="utf-8") as script:
            script.write(spate("completion", "bash"))
        check_bash("spate.bash")
        check_other_shells()
        check_manual()
        os.chdir("/")
    tap.end()


main()

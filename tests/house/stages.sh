# Runs stages one after the other, counts them and tells how they went. Sourced by ../../dev.

PASSED=() FAILED=() SKIPPED=() ONLY=()
# A stage that cannot run here says "skipped: why" and returns this.
SKIP=77

say() { printf '   %s\n' "$*"; }
give_up() { printf '%s\n' "$*" >&2; exit 1; }

wanted() { [ ${#ONLY[@]} -eq 0 ] || [[ " ${ONLY[*]} " == *" $1 "* ]]; }

# stage NAME WHAT COMMAND...: runs the command with its output in a log. A failure is shown and remembered; the
# stages after it still run. Not to be called in a condition: that would switch `set -e` off inside the command.
stage() {
    local name=$1 what=$2 log=$LOGS/$1.log started=$SECONDS status
    shift 2
    wanted "$name" || return 0
    printf '== %s: %s\n' "$name" "$what"
    set +e
    (set -e; export TERM=dumb NO_COLOR=1; "$@") >"$log" 2>&1 </dev/null
    status=$?
    set -e
    case $status in
        0) PASSED+=("$name"); say "passed in $((SECONDS - started)) s" ;;
        "$SKIP") skipped "$name" "$log" ;;
        *) FAILED+=("$name"); tail -n 60 "$log" | sed 's/^/   | /'; say "FAILED after $((SECONDS - started)) s, all of it in $log" ;;
    esac
}

# On a desk a stage may be skipped for want of a tool; where changes are judged that would hide a failure.
skipped() {
    say "$(grep -m 1 '^skipped:' "$2" || echo 'skipped: no reason given')"
    if [ -n "${CI:-}" ]; then FAILED+=("$1"); say "FAILED: nothing may be skipped when CI is set"; else SKIPPED+=("$1"); fi
}

# What went wrong first in a stage: of many failures most follow from the first, and a log's end shows the last.
first_signs() {
    say "$1, what failed and the first of it:"
    grep -aE '^ *(✖ |test .*FAILED|error(\[|:)|FAIL )' "$LOGS/$1.log" | awk '!seen[$0]++' | head -n 6 | cut -c 1-160 | sed 's/^/   | /' || true
    grep -aE -m 1 -A 14 "^test at |panicked at|^error(\[|:)| FAIL " "$LOGS/$1.log" | cut -c 1-200 | sed 's/^/   | /' || true
}

# Ends the run: the time, what failed, and one plain line of counts.
finish() {
    printf '\n== done in %d min %02d s\n' $((SECONDS / 60)) $((SECONDS % 60))
    [ ${#FAILED[@]} -eq 0 ] || say "failed: ${FAILED[*]}"
    local name
    for name in "${FAILED[@]}"; do first_signs "$name"; done
    [ ${#SKIPPED[@]} -eq 0 ] || say "skipped: ${SKIPPED[*]}"
    local ran=$((${#PASSED[@]} + ${#FAILED[@]} + ${#SKIPPED[@]}))
    [ ${#ONLY[@]} -eq 0 ] || [ ${#ONLY[@]} -eq $ran ] || give_up "not all of these are stages: ${ONLY[*]}"
    printf '%d passed, %d failed%s\n' ${#PASSED[@]} ${#FAILED[@]} "${SKIPPED[0]:+, ${#SKIPPED[@]} skipped}"
    [ ${#FAILED[@]} -eq 0 ]
}

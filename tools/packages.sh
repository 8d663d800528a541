# shellcheck shell=sh disable=SC2034 # its lists are for those who source it
# packages.sh - installs what is missing from Debian's packages; sourced by the other tools
#
# need PACKAGE... : nothing happens if all are there.

need() {
    missing=
    for package in "$@"; do
        dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q 'install ok installed' ||
            missing="$missing $package"
    done
    [ -z "$missing" ] && return 0
    echo "installing:$missing" >&2
    if [ "$(id -u)" -eq 0 ]; then
        as_root=
    elif command -v sudo >/dev/null 2>&1; then
        as_root=sudo
    else
        echo "these packages are missing:$missing" >&2
        echo "install them as root: apt-get install$missing" >&2
        return 1
    fi
    # shellcheck disable=SC2086 # lists of words are meant
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get -q update >&2 &&
        $as_root env DEBIAN_FRONTEND=noninteractive \
            apt-get -q install -y --no-install-recommends $missing >&2
}

to_build="gcc libc6-dev meson ninja-build pkg-config libglib2.0-dev libglib2.0-dev-bin libyaml-dev
    libjson-glib-dev libgsl-dev libsqlite3-dev libproj-dev libgdal-dev
    node-d3"
to_test="$to_build check scdoc man-db clang libclang-rt-14-dev clang-format clang-tidy cppcheck
    shellcheck valgrind gdal-bin
    tshark perl python3-junitparser chromium
    python3-jsonschema parallel munge slurmctld slurmd slurm-client"

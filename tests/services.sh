#!/usr/bin/env bash
# Real PostgreSQL and Redis for the tests, each on a free port of 127.0.0.1 and in a temporary folder of its own.
#
#   eval "$(bash tests/services.sh start)"                 installs what is missing (Debian, as root) and starts both
#   bash tests/services.sh stop [DIR]                      stops both and removes the folder
#   bash tests/services.sh restart-postgres [DIR] [MODE]   MODE: fast (default) or immediate, which is a crash
#
# `start` prints lines for a shell: TEST_POSTGRES_URL, TEST_REDIS_URL and TEST_SERVICES_DIR, which is DIR's default.
# Where that folder's services still answer, it prints them again and starts nothing.
# Everybody on the machine may log in to both: for tests only. Exit codes: 1 failed, 2 wrong use, 3 programs missing.
set -euo pipefail

say() { echo "services: $*" >&2; }
fail() { say "$1"; exit "${2:-1}"; }

unset "${!PG@}"      # PGPORT, PGOPTIONS and their like would reach the programs below
export LC_ALL=C
umask 022            # the server's user has to get into the folder

# The server programs of PostgreSQL: Debian keeps them off the PATH, one folder a version.
postgres_bin() {
  local newest
  newest=$(compgen -G '/usr/lib/postgresql/*/bin/initdb' | sort -V | tail -n 1) || true
  [ -n "$newest" ] || newest=$(command -v initdb) || return 1
  dirname "$(readlink -f "$newest")"
}

missing() {
  postgres_bin >/dev/null || echo postgresql
  command -v redis-server >/dev/null || echo redis-server
}

# PostgreSQL refuses to run as root.
as_server() {
  if [ "$(id -u)" -eq 0 ]; then runuser -u postgres -- "$@"; else "$@"; fi
}

# In a subshell: its end gives the machine's own policy back.
install_packages() (
  policy=/usr/sbin/policy-rc.d cluster=/etc/postgresql-common/createcluster.conf
  log=$(mktemp)
  say "installing $*"
  # The packages would start servers of their own: 101 forbids it, and no cluster is made that a reboot could start.
  [ ! -e "$policy" ] || [ -e "$policy.before-tests" ] || mv "$policy" "$policy.before-tests"
  restore_policy() {
    rm -f "$policy"
    [ ! -e "$policy.before-tests" ] || mv "$policy.before-tests" "$policy"
  }
  trap restore_policy EXIT
  printf '#!/bin/sh\nexit 101\n' >"$policy"
  chmod 755 "$policy"
  if [ ! -e "$cluster" ]; then
    mkdir -p "${cluster%/*}"
    printf '# Written for tests: the installation makes no cluster. Yours: pg_createcluster VERSION main\ncreate_main_cluster = false\n' >"$cluster"
  fi
  export DEBIAN_FRONTEND=noninteractive UCF_FORCE_CONFFOLD=1
  apt=(apt-get -q -y -o DPkg::Lock::Timeout=300 -o Dpkg::Use-Pty=0)
  # One broken source among several need not matter: the installation decides.
  "${apt[@]}" update </dev/null >"$log" 2>&1 || say "apt-get update had problems; going on"
  "${apt[@]}" install --no-install-recommends "$@" </dev/null >>"$log" 2>&1 || {
    cat "$log" >&2
    fail "could not install $*: see above"
  }
  rm -f "$log"
)

ensure_programs() {
  local names
  names=$(missing | xargs)
  [ -n "$names" ] || return 0
  if [ "$(id -u)" -ne 0 ] || ! command -v apt-get >/dev/null; then
    fail "programs are missing; install them first, on Debian: sudo apt-get install $names" 3
  fi
  # shellcheck disable=SC2086 # one word a package
  install_packages $names
  [ -z "$(missing)" ] || fail "installed $names, but the programs are not where they should be"
}

# Below the range the kernel takes client ports from: otherwise a client that retries while its server is down may be
# given that very port, connect to itself and keep the server from coming back.
free_port() {
  local port
  while :; do
    port=$((20000 + RANDOM % 12000))
    (exec 3<>"/dev/tcp/127.0.0.1/$port") 2>/dev/null || break
  done
  echo "$port"
}

# Tries again with another port: somebody may take a free one first.
start_postgres() {
  local dir=$1 bin port
  bin=$(postgres_bin)
  as_server "$bin/initdb" -N -A trust -U postgres --encoding=UTF8 --no-locale -D "$dir/postgres/data" >"$dir/initdb.log" 2>&1 || {
    cat "$dir/initdb.log" >&2
    return 1
  }
  for _ in 1 2 3 4 5; do
    port=$(free_port)
    # All else is PostgreSQL's default, fsync and synchronous_commit included.
    as_server tee "$dir/postgres/data/postgresql.auto.conf" >/dev/null <<CONF
listen_addresses = '127.0.0.1'
unix_socket_directories = ''
port = $port
CONF
    if as_server "$bin/pg_ctl" start -w -D "$dir/postgres/data" -l "$dir/postgres/log" </dev/null >/dev/null 2>&1 &&
      as_server "$bin/psql" -qAt -h 127.0.0.1 -p "$port" -U postgres -c 'select 1' postgres </dev/null >/dev/null; then
      echo "$port"
      return 0
    fi
  done
  tail -n 20 "$dir/postgres/log" >&2
  return 1
}

# Whether the Redis on that port is the one of this folder.
redis_answers() {
  local dir=$1 port=$2
  [ "$(redis-cli -h 127.0.0.1 -p "$port" config get dir 2>/dev/null </dev/null | tail -n 1)" = "$(readlink -f "$dir")/redis" ]
}

start_redis() {
  local dir=$1 port
  for _ in 1 2 3 4 5; do
    port=$(free_port)
    # Many databases: each test file takes one of its own.
    cat >"$dir/redis.conf" <<CONF
bind 127.0.0.1
port $port
databases 4096
save ""
appendonly no
daemonize yes
dir "$dir/redis"
logfile "$dir/redis/log"
pidfile "$dir/redis/pid"
CONF
    as_server redis-server "$dir/redis.conf" </dev/null >/dev/null 2>&1 || true
    for _ in {1..100}; do
      if redis_answers "$dir" "$port"; then
        echo "$port"
        return 0
      fi
      sleep 0.05
    done
  done
  tail -n 20 "$dir/redis/log" >&2
  return 1
}

# A folder that `start` made, and no other: it will be removed.
own_folder() {
  local dir=${1:-${TEST_SERVICES_DIR:-}}
  [ -n "$dir" ] || fail "name the folder that start printed as TEST_SERVICES_DIR" 2
  [ ! -e "$dir" ] || [ -f "$dir/mendthread-test-services" ] || fail "$dir is not a folder of test services" 2
  [ ! -e "$dir" ] || dir=$(readlink -f "$dir")
  echo "$dir"
}

running() {
  local dir=$1
  [ -f "$dir/exports" ] && redis_answers "$dir" "$(sed -n 's/^port //p' "$dir/redis.conf")" &&
    as_server "$(postgres_bin)/pg_ctl" status -D "$dir/postgres/data" >/dev/null 2>&1
}

# A server killed outright stays a zombie until process 1 takes notice, and pg_ctl would wait for it in vain.
until_reaped() {
  local pid
  pid=$(head -n 1 "$1/postgres/data/postmaster.pid" 2>/dev/null) || return 0
  for _ in {1..100}; do
    grep -qs '^State:.Z' "/proc/$pid/status" || return 0
    sleep 0.1
  done
}

stop() {
  local dir=$1 port bin
  if [ ! -e "$dir" ]; then
    say "$dir is gone already"
    return 0
  fi
  cd "$dir"
  until_reaped "$dir"
  # What is thrown away need not be shut down tidily.
  bin=$(postgres_bin) && [ -d postgres/data ] && as_server "$bin/pg_ctl" stop -w -m immediate -D "$dir/postgres/data" >/dev/null 2>&1 || true
  port=$(sed -n 's/^port //p' redis.conf 2>/dev/null) || true
  if [ -n "$port" ] && redis_answers "$dir" "$port"; then
    redis-cli -h 127.0.0.1 -p "$port" shutdown nosave >/dev/null 2>&1 </dev/null || true
  fi
  cd /
  rm -rf "$dir"
}

start() {
  local dir=${TEST_SERVICES_DIR:-} postgres redis
  if [ -n "$dir" ] && [ -z "$(missing)" ] && running "$dir"; then
    say "already running in $dir"
    cat "$dir/exports"
    return 0
  fi
  ensure_programs
  if [ "$(id -u)" -eq 0 ]; then id postgres >/dev/null 2>&1 || fail "as root, a user named postgres is needed to run the servers"; fi

  dir=$(readlink -f "$(mktemp -d "${TMPDIR:-/tmp}/mendthread-services.XXXXXX")")
  touch "$dir/mendthread-test-services"
  # shellcheck disable=SC2064 # the folder of now is meant
  trap "stop '$dir'" EXIT
  chmod 755 "$dir"
  cd "$dir" # not every folder we may be called in is open to the servers' user
  mkdir -m 700 postgres redis
  [ "$(id -u)" -ne 0 ] || chown postgres postgres redis
  as_server test -x "$dir/postgres" || fail "the user postgres cannot get into $dir: set TMPDIR to a folder open to everybody"

  postgres=$(start_postgres "$dir") || fail "PostgreSQL did not start: see above"
  redis=$(start_redis "$dir") || fail "Redis did not start: see above"
  {
    printf 'export TEST_POSTGRES_URL=%q\n' "postgres://postgres@127.0.0.1:$postgres/postgres"
    printf 'export TEST_REDIS_URL=%q\n' "redis://127.0.0.1:$redis"
    printf 'export TEST_SERVICES_DIR=%q\n' "$dir"
  } >exports
  trap - EXIT
  say "PostgreSQL on port $postgres, Redis on port $redis, in $dir"
  cat exports
}

restart_postgres() {
  local dir=$1 mode=${2:-fast}
  case $mode in fast | immediate) ;; *) fail "restart fast or immediate, not $mode" 2 ;; esac
  [ -d "$dir/postgres/data" ] || fail "no PostgreSQL in $dir" 2
  cd "$dir"
  until_reaped "$dir"
  as_server "$(postgres_bin)/pg_ctl" restart -w -t 120 -m "$mode" -D "$dir/postgres/data" -l "$dir/postgres/log" </dev/null >/dev/null ||
    fail "PostgreSQL did not come back: see $dir/postgres/log"
}

case ${1:-} in
  start) start ;;
  stop) dir=$(own_folder "${2:-}") && stop "$dir" ;;
  restart-postgres) dir=$(own_folder "${2:-}") && restart_postgres "$dir" "${3:-}" ;;
  *) fail "usage: services.sh start | stop [DIR] | restart-postgres [DIR] [fast|immediate]" 2 ;;
esac

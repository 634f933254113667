# Sourced by the scripts beside it: the Pythons that pyproject.toml claims, and where this machine has them.

claimed() { grep -o 'Python :: 3\.[0-9]*' pyproject.toml | grep -o '3\.[0-9]*' | sort -V; }
oldest_claimed() { claimed | head -n 1; }
newest_claimed() { claimed | tail -n 1; }

# The Python of a version: on the path, or where pyenv keeps it; empty where there is none.
python_of() {
  local each
  for each in "$(command -v "python$1" || true)" "${PYENV_ROOT:-$HOME/.pyenv}"/versions/"$1".*/bin/python"$1"; do
    if [[ -x $each ]] && "$each" -c 'import ensurepip' 2>/dev/null; then
      echo "$each"
      return
    fi
  done
}

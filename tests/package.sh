#!/usr/bin/env bash
# The Debian package, on a system with nothing but what Debian must have and what the package says it needs: it is
# installed there, and used. As root, with the package mmdebstrap.
#
#     bash tests/package.sh target/debug/duskloom
set -euo pipefail
program=$(realpath "$1")
cd "$(dirname "${BASH_SOURCE[0]}")/.."
suite=$(. /etc/os-release && echo "$VERSION_CODENAME")
package=$(bash .ci/debian "$program" target/debian)
needs=$(dpkg-deb --field "$package" Depends | sed 's/ *([^)]*)//g; s/ //g')
cat >target/debian/use <<'END'
set -eu
exec >/dev/null
dpkg --install /duskloom.deb
cd /tmp
duskloom --version
duskloom new porch
duskloom build porch.yaml
test -s out/porch/main.c
duskloom build /usr/share/doc/duskloom/examples/lane.yaml --out lane
test -s lane/main.c
for page in '' -build -preview -verify; do
    zcat "/usr/share/man/man1/duskloom$page.1.gz" | grep --quiet '^.TH duskloom'
done
dpkg --verify duskloom
dpkg --remove duskloom
test ! -e /usr/bin/duskloom
END
mmdebstrap --quiet --format=null --variant=essential --include="$needs" \
    --customize-hook="copy-in target/debian/use /tmp" \
    --customize-hook="upload $package /duskloom.deb" \
    --customize-hook='chroot "$1" sh /tmp/use' "$suite" >/dev/null

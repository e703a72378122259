#!/bin/sh
# Holds the signatures of published rulesets against stock ssh-keygen, both ways: it verifies what
# `publish` signs with each kind of key and refuses what was changed; `check` takes what it signs.
# GROUNDRULE names the program.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
groundrule=${GROUNDRULE:-$root/target/debug/groundrule}
command -v ssh-keygen >/dev/null || { echo "ssh-keygen is missing: install openssh-client"; exit 1; }
[ -x "$groundrule" ] || { echo "no program at $groundrule: build it, or name it in GROUNDRULE"; exit 1; }
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT

town=aldmoor/sarnfell/velder_mills
clerk=clerk@velder-mills.example
library=$folder/library
mkdir "$library"
cp -R "$root/rules" "$root/shared" "$root/jurisdictions" "$library"
# All of the clerk's keys sign for the town here.
cp "$root/tests/ruleset/signers" "$library/jurisdictions/$town/signers"

verified() {
    ssh-keygen -Y verify -f "$1/signers" -I "$clerk" -n groundrule -s "$1/ruleset.sig" < "$1/ruleset" >/dev/null 2>&1
}

failed=0
say() { printf '  %s\n' "$*"; }
wrong() { say "$*"; failed=1; }

for kind in ed25519 ecdsa rsa; do
    out=$folder/$kind
    "$groundrule" publish "$town" --to "$out" --library "$library" --key "$root/tests/ruleset/clerk_$kind" >/dev/null
    if verified "$out"; then say "$kind: ssh-keygen verifies it"; else wrong "$kind: ssh-keygen refuses it"; fi
    (cd "$out" && sha256sum --quiet --strict -c digests.txt) || wrong "$kind: sha256sum refuses the digests"

    # And the other way: signed by ssh-keygen, taken by the program.
    cp "$root/tests/ruleset/clerk_$kind" "$folder/key"
    chmod 600 "$folder/key"
    rm "$out/ruleset.sig"
    ssh-keygen -q -Y sign -n groundrule -f "$folder/key" "$out/ruleset" 2>/dev/null
    if "$groundrule" sources --library "$out/ruleset" --signers "$out/signers" | grep -q "signed by $clerk"; then
        say "$kind: the program takes what ssh-keygen signs"
    else
        wrong "$kind: the program refuses what ssh-keygen signs"
    fi
    "$groundrule" publish "$town" --to "$out" --library "$library" >/dev/null || wrong "$kind: what ssh-keygen signed is not published"

    printf '\n' >> "$out/ruleset"
    if verified "$out"; then wrong "$kind: ssh-keygen takes a changed ruleset"; fi
    if "$groundrule" sources --library "$out/ruleset" --signers "$out/signers" >/dev/null 2>&1; then
        wrong "$kind: the program takes a changed ruleset"
    fi
done

# Both refuse a key after its last day.
line=$(sed -n 's/20350101Z/20250201/; /ssh-ed25519/p' "$library/jurisdictions/$town/signers")
"$groundrule" publish "$town" --to "$folder/old" --library "$library" --key "$root/tests/ruleset/clerk_ed25519" >/dev/null
printf '%s\n' "$line" > "$folder/old/signers"
if verified "$folder/old"; then wrong "ssh-keygen takes a key after its last day"; fi
if "$groundrule" sources --library "$folder/old/ruleset" --signers "$folder/old/signers" >/dev/null 2>&1; then
    wrong "the program takes a key after its last day"
fi
if "$groundrule" sources --library "$folder/old/ruleset" --signers "$folder/old/signers" --valid-on 2025-01-31 >/dev/null; then
    say "a key after its last day: both refuse it"
else
    wrong "the program refuses a key on its last day"
fi
exit "$failed"

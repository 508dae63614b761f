#!/bin/sh
# Puts the package $1 on a copy of this machine that forgets everything (an
# overlay in memory, in a mount namespace of its own), replaces it, takes it
# off, and says what it finds. Run by unshare --mount.
set -e
over=$2
mount -t tmpfs none "$over"
mkdir "$over/upper" "$over/work" "$over/root"
mount -t overlay overlay -o "lowerdir=/,upperdir=$over/upper,workdir=$over/work" "$over/root"
cp "$1" "$over/root/package.deb"
mount -t proc proc "$over/root/proc"
mount --bind /dev "$over/root/dev"
chroot "$over/root" sh -e <<'IN'
dpkg --force-depends -i /package.deb
echo "groups: $(id -nG evenbell)"
echo "starts: $(systemctl is-enabled evenbell-station)"
su -s /bin/sh evenbell -c 'station --version'
echo '# ours' >>/etc/evenbell/station.toml
mkdir -p /var/lib/evenbell && echo entry >/var/lib/evenbell/log
dpkg --force-depends -i /package.deb
echo "kept: $(tail -n 1 /etc/evenbell/station.toml)"
dpkg -P evenbell-station
echo "log: $(cat /var/lib/evenbell/log)"
echo "left: $(find /etc/evenbell /usr/bin/station /etc/systemd/system -path '*evenbell*' 2>/dev/null)."
IN

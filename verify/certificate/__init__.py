"""Evidence for claims, written down as certificates, and the one door to the kernel."""

"""How people see the register: pages that ask questions of `collection` and draw what comes back."""

"""An invented school: paints works, photographs them, walks the whole road. Never holds a rule of its own."""

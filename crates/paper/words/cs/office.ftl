## The texts of this file are being translated.

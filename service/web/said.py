"""Sentences a page may open with after something was done.

The address carries only a key (`?done=…`), so that no link can put words into the register's mouth.
"""

SAID = {
    "signed-out": "You are signed out.",
    "password-changed": "Your password is changed. Other browsers have been signed out.",
    "recipient-registered": "The case is open.",
    "consent-recorded": "What was agreed to is recorded.",
    "recipient-changed": "The particulars are changed.",
    "measurement-recorded": "The measurement is recorded. The forecast follows within moments.",
    "measurement-corrected": "The correction is recorded. The old value stays, struck through.",
    "session-corrected": "The correction is recorded. What it said before is kept.",
    "socks-reported": "The sock report is recorded. The forecast follows within moments.",
    "device-recorded": "The device is recorded.",
    "device-changed": "The device is changed.",
    "socket-recorded": "The socket is recorded. Its forecast follows within moments.",
    "socket-ended": "It is recorded that the socket came off.",
    "socket-struck": "The socket is struck through and counts no more. The forecast follows within moments.",
    "socket-put-back": "The socket is back in place. Its forecast follows within moments.",
    "socks-struck": "The sock report is struck through and counts no more.",
    "setting-recorded": "The setting is recorded.",
    "lot-recorded": "The lot is recorded. Write its number on the spool or the bag.",
    "lot-changed": "The correction is recorded. What it said before is kept below.",
    "lot-moved": "The lot’s new state is recorded.",
    "account-added": "The account is open.",
    "account-changed": "The account is changed.",
    "account-closed": "The account is closed. Its browsers are signed out and its tokens are ended.",
    "account-reopened": "The account is open again. Its person can sign in; ended tokens stay ended.",
    "site-added": "The site is added.",
    "site-changed": "The site is changed.",
    "token-ended": "The token is ended and works no more.",
    "session-ended": "That browser is signed out.",
}

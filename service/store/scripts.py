"""What the server does in one step, and under which keys.

Rules of this module: text and names only, nothing runs here. A script checks everything before it writes anything, so
that a refusal leaves no trace. Whatever is found under our keys may be garbage: a value of a wrong form counts as none
and is replaced by the next writing.

    <prefix>:dealers                          set: dealers with anything stored
    <prefix>:change                           string: a token drawn anew with every change of a register
    <prefix>:changes                          channel: the tokens as they change
    <prefix>:secret:<name>                    string: a secret of the installation, set once
    <prefix>:{<dealer>}:active                hash: catalog -> register of the active revision
    <prefix>:{<dealer>}:keys                  hash: digest -> register of the key's record
    <prefix>:{<dealer>}:revisions:<catalog>   hash: revision -> when it was published, RFC 3339
    <prefix>:{<dealer>}:document:<catalog>:<revision>   string: the document, immutable
    <prefix>:{<dealer>}:count:<bucket>        string with a lifetime: a counter, see `service.store.rate`
    <prefix>:{<dealer>}:plan:<digest>         string with a lifetime: digest and body of a finished plan

A server cluster that spreads keys over machines is not supported (scripts touch the dealer's keys and the common ones);
a primary with replicas and sentinels is.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class KeyLayout:
    """Names of our keys; every part has been checked by `service.store.names`.

    Attributes
    ----------
    prefix
        What all our keys begin with [-].
    """

    prefix: str

    @property
    def dealers(self) -> str:
        """The set of dealers."""
        return f"{self.prefix}:dealers"

    @property
    def change(self) -> str:
        """The token of the last change."""
        return f"{self.prefix}:change"

    @property
    def changes(self) -> str:
        """The channel on which changes are announced."""
        return f"{self.prefix}:changes"

    def secret(self, name: str) -> str:
        """Name a secret of the installation."""
        return f"{self.prefix}:secret:{name}"

    def of(self, dealer: str, *parts: str) -> str:
        """Name a dealer's key."""
        return ":".join((self.prefix, f"{{{dealer}}}", *parts))


_COMMON = """
local function readable(key, kind)
  return redis.call('TYPE', key).ok == kind
end
local function clear(key, kind)
  local found = redis.call('TYPE', key).ok
  if found ~= kind and found ~= 'none' then redis.call('DEL', key) end
end
local function register(key, field)
  local text = readable(key, 'hash') and redis.call('HGET', key, field) or ''
  local generation, value = string.match(text or '', '^(%d+) (.*)$')
  if not generation or #generation > 16 then return 0, '' end
  return tonumber(generation), value
end
local function announce(dealers, dealer, change, channel, token)
  clear(dealers, 'set')
  redis.call('SADD', dealers, dealer)
  redis.call('SET', change, token)
  redis.call('PUBLISH', channel, token)
end
"""

PUBLISH = (
    _COMMON
    + """
-- KEYS: document, revisions, active, dealers, change
-- ARGV: channel, token, dealer, catalog, revision, document, moment, if_match ('' none, '*' any), activate,
--       generation and revision that the worker knows as active, most revisions, most catalogs,
--       what the keys of the catalog's documents begin with
local channel, token, dealer, catalog, revision = ARGV[1], ARGV[2], ARGV[3], ARGV[4], ARGV[5]
local if_match, activate = ARGV[8], ARGV[9] == '1'
local stored, current = register(KEYS[3], catalog)
if stored >= 2 ^ 52 or not string.match(current, '^r%-%x+$') then stored, current = 0, '' end
local generation, known = stored, tonumber(ARGV[10])
if known > stored then
  -- a server that comes back with less than the worker has seen has lost it
  generation, current = known, ARGV[11]
elseif current ~= '' and current ~= ARGV[11] and not readable(ARGV[14] .. current, 'string') then
  -- an active revision without its document is garbage
  generation, current = stored + 1, ARGV[11]
end

if current ~= revision and if_match ~= '*' then
  if if_match ~= '' and if_match ~= current then return {'differs', current} end
  if if_match == '' and activate and current ~= '' then return {'required', current} end
end
local listed = readable(KEYS[2], 'hash')
local created = not (listed and redis.call('HEXISTS', KEYS[2], revision) == 1)
if created and listed and redis.call('HLEN', KEYS[2]) >= tonumber(ARGV[12]) then return {'revisions'} end
if current == '' and readable(KEYS[3], 'hash') and redis.call('HLEN', KEYS[3]) >= tonumber(ARGV[13]) then
  return {'catalogs'}
end

redis.call('SET', KEYS[1], ARGV[6])
if created then
  clear(KEYS[2], 'hash')
  redis.call('HSET', KEYS[2], revision, ARGV[7])
end
local previous, changed = current, activate and current ~= revision
if changed then generation, current = generation + 1, revision end
if current ~= '' and (changed or generation > stored) then
  clear(KEYS[3], 'hash')
  redis.call('HSET', KEYS[3], catalog, string.format('%.0f', generation) .. ' ' .. current)
  announce(KEYS[4], dealer, KEYS[5], channel, token)
end
return {'done', created and 1 or 0, changed and 1 or 0, previous, string.format('%.0f', generation)}
"""
)
"""Publish a document; see `service.store.publication.check_match` for the rules [-]."""

PUT_KEY = (
    _COMMON
    + """
-- KEYS: keys, dealers, change      ARGV: channel, token, dealer, digest, generation, step, record
-- step 1: one later than what is stored and what the worker knows; step 0: exactly this generation, if later
local stored = register(KEYS[1], ARGV[4])
local generation = tonumber(ARGV[5])
if ARGV[6] == '1' then generation = math.min(math.max(stored, generation) + 1, 9007199254740991) end
if generation > stored then
  clear(KEYS[1], 'hash')
  redis.call('HSET', KEYS[1], ARGV[4], string.format('%.0f', generation) .. ' ' .. ARGV[7])
  announce(KEYS[2], ARGV[3], KEYS[3], ARGV[1], ARGV[2])
end
return {'done', generation > stored and string.format('%.0f', generation) or '0'}
"""
)
"""Make a key known, or bring back one that the server lost; the highest generation stays for good [-]."""

COUNT = """
-- KEYS: counter      ARGV: interval, most units, units   (times in microseconds, see service.store.rate)
local step, units = tonumber(ARGV[1]), tonumber(ARGV[3])
local most = step * tonumber(ARGV[2])
local time = redis.call('TIME')
local now = tonumber(time[1]) * 1000000 + tonumber(time[2])
local text = redis.call('TYPE', KEYS[1]).ok == 'string' and redis.call('GET', KEYS[1]) or ''
local before = math.min(math.max(tonumber(string.match(text, '^%d+$')) or 0, now), now + most)
local after = before + units * step
local wait = after - now - most
if wait > 0 then return {0, before - now, wait} end
redis.call('SET', KEYS[1], string.format('%.0f', after), 'PX', math.ceil((after - now) / 1000))
return {1, after - now, 0}
"""
"""Count units against a rate limit by the server's clock [-]."""

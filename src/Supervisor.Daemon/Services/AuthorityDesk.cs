using System.Collections.Concurrent;
using Supervisor.Machine.Api;

namespace Supervisor.Daemon.Services;

/// <summary>The grants that streams hold, by token.</summary>
public sealed class AuthorityDesk
{
    private readonly ConcurrentDictionary<string, Held> _held = new(StringComparer.Ordinal);

    /// <summary>The grant of a token; null for a token that is not, or no longer, one.</summary>
    public AuthorityGrant? Find(string token) => _held.TryGetValue(token, out var held) ? held.Grant : null;

    /// <summary>Gives a grant back on purpose and lets its stream end; false for a token that is not, or no longer, one.</summary>
    public bool Release(string token, bool stopAxes)
    {
        if (!_held.TryRemove(token, out var held))
        {
            return false;
        }

        held.Grant.Release(stopAxes);
        held.Released.TrySetResult(true);
        return true;
    }

    /// <summary>Takes a grant from a holder that is lost; false when it was given back before.</summary>
    public bool Lose(string token)
    {
        if (!_held.TryRemove(token, out var held))
        {
            return false;
        }

        held.Grant.Lose();
        return true;
    }

    internal Held Add(AuthorityGrant grant)
    {
        var held = new Held(grant.Token.ToString("N"), grant, new TaskCompletionSource<bool>(TaskCreationOptions.RunContinuationsAsynchronously));
        _held[held.Token] = held;
        return held;
    }

    /// <summary>A grant with its token; <paramref name="Released"/> ends when it was given back on purpose.</summary>
    internal sealed record Held(string Token, AuthorityGrant Grant, TaskCompletionSource<bool> Released);
}

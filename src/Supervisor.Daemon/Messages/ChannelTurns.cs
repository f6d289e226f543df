namespace Supervisor.Daemon.Messages;

/// <summary>Steps the channels in turn. An error of one is its own: the others go on telling people, and it is looked at anew after a rest.</summary>
/// <param name="steps">The step of each channel.</param>
/// <param name="failed">Told the channel's place and what its step threw.</param>
internal sealed class ChannelTurns(IReadOnlyList<Action> steps, Action<int, Exception> failed)
{
    /// <summary>How long a channel is left alone after an error.</summary>
    public static readonly TimeSpan Rest = TimeSpan.FromSeconds(5);

    private readonly TimeSpan?[] _restsUntil = new TimeSpan?[steps.Count];

    /// <summary>A step of every channel that does not rest.</summary>
    /// <param name="now">Monotonic time.</param>
    public void Step(TimeSpan now)
    {
        for (var i = 0; i < steps.Count; i++)
        {
            if (_restsUntil[i] is { } until && now < until)
            {
                continue;
            }

            _restsUntil[i] = null;
            try
            {
                steps[i]();
            }
#pragma warning disable CA1031 // Messages must never take the machine down with them: what is not stored is looked at anew.
            catch (Exception exception)
#pragma warning restore CA1031
            {
                _restsUntil[i] = now + Rest;
                failed(i, exception);
            }
        }
    }
}

namespace Supervisor.Daemon.Services;

/// <summary>What all server streams share: when they end because the daemon does, and how often they speak.</summary>
public sealed class StreamPace : IDisposable
{
    /// <summary>A stream that has nothing to say says so this often.</summary>
    public static readonly TimeSpan Heartbeat = TimeSpan.FromSeconds(2);

    private readonly CancellationTokenSource _ending = new();

    /// <summary>Cancelled once streams are to end.</summary>
    public CancellationToken Ending => _ending.Token;

    /// <summary>Ends all streams. The daemon calls it after its axes have stopped.</summary>
    public void End() => _ending.Cancel();

    /// <summary>Waits for a task and calls <paramref name="beat"/> whenever a heartbeat is due; throws once <paramref name="cancellation"/> is cancelled.</summary>
    public static async Task<T> WaitAsync<T>(Task<T> task, Func<Task> beat, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(task);
        ArgumentNullException.ThrowIfNull(beat);
        while (true)
        {
            try
            {
                return await task.WaitAsync(Heartbeat, cancellation);
            }
            catch (TimeoutException) when (!task.IsCompleted)
            {
                await beat();
            }
        }
    }

    /// <inheritdoc/>
    public void Dispose() => _ending.Dispose();
}

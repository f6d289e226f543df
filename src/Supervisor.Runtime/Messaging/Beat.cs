namespace Supervisor.Runtime.Messaging;

/// <summary>The heartbeat of one thread: the monotonic time of its last step, readable from any thread.</summary>
/// <param name="name">Whose it is.</param>
public sealed class Beat(string name)
{
    private long _ticks;

    /// <summary>Whose it is.</summary>
    public string Name => name;

    /// <summary>Time of the last step; zero before the first. Any thread.</summary>
    public TimeSpan At => TimeSpan.FromTicks(Volatile.Read(ref _ticks));

    /// <summary>A step has ended. The one thread.</summary>
    public void Note(TimeSpan now) => Volatile.Write(ref _ticks, now.Ticks);
}

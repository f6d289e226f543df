using Supervisor.Machine.Commands;

namespace Supervisor.Machine.Api;

/// <summary>The right to command motion. Disposing it is <c>Release(stopAxes: true)</c>: a holder that is lost takes no motion with it.</summary>
public sealed class AuthorityGrant : IDisposable
{
    private readonly MachineControl _control;
    private readonly List<PendingCommand> _commands = [];
    private readonly TaskCompletionSource _lapsed = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private long _refreshedTicks = long.MaxValue;

    internal AuthorityGrant(MachineControl control, string holder)
    {
        _control = control;
        Holder = holder;
    }

    /// <summary>Unique per grant; travels in client calls.</summary>
    public Guid Token { get; } = Guid.NewGuid();

    /// <summary>Who holds it.</summary>
    public string Holder { get; }

    /// <summary>Ends when its holder did not refresh it in time.</summary>
    public Task Lapsed => _lapsed.Task;

    /// <summary>Commands given under it that may not have ended. Under the control's lock only.</summary>
    internal IReadOnlyList<PendingCommand> Commands => _commands;

    /// <summary>Gives it back, once; later calls do nothing.</summary>
    /// <param name="stopAxes">True: axes that still move are stopped in order. False: what was accepted runs to its end without a holder; a jog and a run without end have none, so they are halted.</param>
    public void Release(bool stopAxes) => _control.Release(this, stopAxes);

    /// <summary>Its holder is lost: what it commanded goes on or stops as the machine file says; a jog and a run without end stop.</summary>
    public void Lose() => _control.Lose(this);

    /// <summary>Its holder is alive. From the first call on, one must follow within the time that the machine file states.</summary>
    /// <param name="now">Monotonic time.</param>
    public void Refresh(TimeSpan now) => Volatile.Write(ref _refreshedTicks, now.Ticks);

    internal bool IsOverdue(TimeSpan now, TimeSpan within) =>
        Volatile.Read(ref _refreshedTicks) is var ticks and not long.MaxValue && now.Ticks - ticks > within.Ticks;

    internal void Lapse() => _lapsed.TrySetResult();

    /// <inheritdoc/>
    public void Dispose() => Release(stopAxes: true);

    /// <summary>Remembers a command; forgets those that ended. Under the control's lock only.</summary>
    internal void Track(PendingCommand command)
    {
        _commands.RemoveAll(earlier => earlier.Answer is not null);
        _commands.Add(command);
    }
}

using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;

namespace Supervisor.Daemon.Services;

/// <summary>Leaves an axis as a proof of its communication time-out should: once it rests without torque, the drive's own time-out fault is reset by whoever asked for it.</summary>
internal static class TimeoutProver
{
    private static readonly TimeSpan Look = TimeSpan.FromMilliseconds(20);
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(10);

    /// <summary>Resets the axis, and says in the answer how it is left.</summary>
    public static async Task<CommandAnswer> ClearAsync(MachineControl control, int axis, AuthorityGrant? grant, CommandAnswer proven, CancellationToken cancellation)
    {
        var name = control.Machine.Axes[axis].Name;
        for (var waited = TimeSpan.Zero; !Rests(control, axis); waited += Look)
        {
            if (waited >= Patience)
            {
                return proven with { Message = $"{proven.Message}; {name} still has torque: look at it, then reset it" };
            }

            await Task.Delay(Look, cancellation);
        }

        var reset = await control.Submit(new ResetCommand([axis]), grant).Completion.WaitAsync(cancellation);
        return proven with
        {
            Value = null,
            Message = reset.Outcome == Outcome.Done
                ? $"{proven.Message}; its time-out fault was reset, and {name} is disabled"
                : $"{proven.Message}; {name} is left faulted by its time-out: {reset.Message}",
        };
    }

    private static bool Rests(MachineControl control, int axis) => control.Status().Axes[axis] is { State: AxisState.Faulted, Detail: AxisDetail.None };
}

using Supervisor.Machine.Api;
using Supervisor.Records.Faults;

namespace Supervisor.Machine;

/// <summary>Where the coordinator tells what happened. Implementations never block and never throw: they queue.</summary>
public interface IJournal
{
    /// <summary>A fault was latched on an axis or a port.</summary>
    void Fault(in FaultEvent fault);

    /// <summary>An interlock opened (trips), closed, or was reset.</summary>
    /// <param name="interlock">Index in the machine file.</param>
    /// <param name="change">What changed.</param>
    /// <param name="inputs">The inputs that did it, as the file says them; for a reset who or what reset it.</param>
    /// <param name="at">Monotonic time.</param>
    void Interlock(int interlock, InterlockChange change, string inputs, TimeSpan at);

    /// <summary>A recovery was begun, succeeded, failed or given up.</summary>
    void Recovery(int axis, string what, TimeSpan at);

    /// <summary>A command worth keeping ended: refused, failed, or one that changed the machine's readiness.</summary>
    void Command(MachineCommand command, string holder, CommandAnswer answer, TimeSpan at);

    /// <summary>A port's device was lost or found again.</summary>
    void Port(int port, bool open, TimeSpan at);
}

/// <summary>What changed on an interlock.</summary>
public enum InterlockChange : byte
{
    Opened = 1,
    Closed = 2,
    Reset = 3,

    /// <summary>Its channels differed for too long; the inputs told are the open ones.</summary>
    Discrepancy = 4,
}

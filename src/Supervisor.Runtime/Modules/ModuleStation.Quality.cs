using Supervisor.Records.Faults;
using Supervisor.Runtime.Ports;

namespace Supervisor.Runtime.Modules;

/// <content>What share of its exchanges fails, and what that leads to.</content>
internal sealed partial class ModuleStation
{
    private bool _isDistrusted;

    /// <summary>
    /// An exchange of it was counted. From the fault's share on none of its inputs counts as closed, since an opening might be seen late; its outputs go on
    /// being set as ordered, as what has to fall must.
    /// </summary>
    /// <param name="percent">Failed among its last exchanges.</param>
    /// <param name="level">As that stands.</param>
    /// <param name="reached">The level it has reached with this exchange.</param>
    /// <param name="now">Monotonic time.</param>
    public void NoteQuality(double percent, ErrorLevel level, ErrorLevel reached, TimeSpan now)
    {
        _isDistrusted = level == ErrorLevel.Fault;
        (_snapshot.ErrorPercent, _snapshot.Distrusted) = (percent, _isDistrusted);
        if (reached != ErrorLevel.Good)
        {
            Tell(reached == ErrorLevel.Fault ? FaultCode.ModuleErrorsTooMany : FaultCode.ModuleErrorsFrequent, now);
        }

        Publish();
    }
}

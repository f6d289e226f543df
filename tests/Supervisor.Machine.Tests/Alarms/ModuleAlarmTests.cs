using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Alarms;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Modules;

namespace Supervisor.Machine.Tests.Alarms;

/// <summary>What ports tell of modules, as alarms and in the status.</summary>
public sealed class ModuleAlarmTests
{
    private readonly MachineRig _rig = MachineRig.Ready(Machines.Seeder() with
    {
        Modules =
        [
            new ModuleDefinition(
                "terminal", 1, 20, new ModuleInputs(2, 0, 16, new BitPacking(16, BitOrder.LowFirst, ByteOrder.HighFirst, WordOrder.LowFirst), new Dictionary<string, int>()), null, null,
                TimeSpan.FromMilliseconds(20), TimeSpan.FromMilliseconds(100), TimeSpan.Zero),
        ],
    });

    [Fact]
    public void Module_WhoseExchangesFail_IsAnAlarmUntilTheShareHasFallen()
    {
        Shown(30, distrusted: true);
        Tell(FaultCode.ModuleErrorsFrequent);
        Tell(FaultCode.ModuleErrorsTooMany);
        _rig.Run(200);
        Assert.Equal((AlarmState.UnacknowledgedActive, AlarmState.UnacknowledgedActive), (Of(FaultCode.ModuleErrorsFrequent), Of(FaultCode.ModuleErrorsTooMany)));
        var module = _rig.Control.Status().Modules[0];
        Assert.Equal((30, true), (module.ErrorPercent, module.Online));
        Assert.Contains("count as open", module.WhatToDo, StringComparison.Ordinal);

        Shown(12, distrusted: false);
        _rig.Run(200);
        Assert.Equal((AlarmState.UnacknowledgedActive, AlarmState.ReturnedUnacknowledged), (Of(FaultCode.ModuleErrorsFrequent), Of(FaultCode.ModuleErrorsTooMany)));
        Assert.Equal("", _rig.Control.Status().Modules[0].WhatToDo);

        // Half of the warning's usual 2 %.
        Shown(0.9, distrusted: false);
        _rig.Run(200);
        Assert.Equal(AlarmState.ReturnedUnacknowledged, Of(FaultCode.ModuleErrorsFrequent));
    }

    private void Shown(double percent, bool distrusted) => _rig.Board.Modules[0].Write(new ModuleSnapshot { Online = true, ErrorPercent = percent, Distrusted = distrusted });

    private void Tell(FaultCode code)
    {
        Assert.True(_rig.Board.Ports[1].Faults.TryWrite(new FaultEvent(_rig.Now, -1, 1, code, 0, AxisState.Disabled, 0, double.NaN) { Module = 0 }));
        _rig.Run(50);
    }

    private AlarmState Of(FaultCode code) => _rig.Control.Alarms.Alarms.Single(alarm => alarm.Key == new AlarmKey((int)code, AlarmSource.Module(0))).State;
}

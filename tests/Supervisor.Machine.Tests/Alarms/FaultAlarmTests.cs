using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Alarms;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Alarms;

/// <summary>What the coordinator is told, as alarms; and what people do with them.</summary>
public sealed class FaultAlarmTests
{
    private static readonly AlarmKey DrumVoltage = new((int)FaultCode.UnderVoltage, AlarmSource.Axis(Drum));
    private readonly MachineRig _rig = MachineRig.Ready();

    [Fact]
    public void Fault_AcknowledgedThenReset_IsOver()
    {
        FaultDrum();
        Assert.Equal((AlarmState.UnacknowledgedActive, true), (Of(DrumVoltage).State, Of(DrumVoltage).IsLatching));

        var answer = _rig.Do(new AcknowledgeCommand([], "Ada"));
        Assert.Equal(Outcome.Done, answer.Outcome);
        Assert.Equal((AlarmState.AcknowledgedActive, "Ada"), (Of(DrumVoltage).State, Of(DrumVoltage).Acknowledged!.By));
        Assert.Equal(AxisState.Faulted, _rig.Control.Status().Axes[Drum].State);

        _rig.Do(new ResetCommand([Drum]));
        _rig.Run(200);
        Assert.Empty(_rig.Control.Alarms.Alarms);
    }

    [Fact]
    public void Fault_ResetWithoutAnAcknowledgement_IsListedUntilSomebodyKnows()
    {
        FaultDrum();
        _rig.Do(new ResetCommand([Drum]));
        _rig.Run(200);
        Assert.Equal(AlarmState.ReturnedUnacknowledged, Of(DrumVoltage).State);
        Assert.Equal(Outcome.Done, _rig.Do(new AcknowledgeCommand([new AlarmChoice(null, AlarmSource.Axis(Drum))], "Ada")).Outcome);
        Assert.Empty(_rig.Control.Alarms.Alarms);
    }

    [Fact]
    public void Fault_NewerThanTheFeedback_IsNotTakenForReset()
    {
        _rig.Ports[1].Steps = false;
        _rig.Board.Ports[1].Faults.TryWrite(new FaultEvent(_rig.Now + MachineRig.Period, Drum, 1, FaultCode.UnderVoltage, 0, AxisState.Ready, 0, 0));
        _rig.Run(300);
        Assert.Equal((AxisState.Ready, AlarmState.UnacknowledgedActive), (_rig.Control.Status().Axes[Drum].State, Of(DrumVoltage).State));
    }

    [Fact]
    public void LostLink_ThatIsBack_WaitsForItsResetAsLatched()
    {
        var lost = new AlarmKey((int)FaultCode.LinkLost, AlarmSource.Axis(Drum));
        _rig.Axis(Drum).Now.Online = false;
        _rig.PortOf(Drum).Fault(Drum, FaultCode.LinkLost);
        _rig.Run(200);
        Assert.Equal(AlarmState.UnacknowledgedActive, Of(lost).State);
        _rig.Axis(Drum).Now.Online = true;
        _rig.Run(200);
        Assert.Equal(AlarmState.LatchedUnacknowledged, Of(lost).State);
        _rig.Do(new AcknowledgeCommand([], "Ada"));
        Assert.Equal(AlarmState.LatchedAcknowledged, Of(lost).State);
        _rig.Do(new ResetCommand([Drum]));
        _rig.Run(200);
        Assert.Empty(_rig.Control.Alarms.Alarms);
    }

    [Fact]
    public void Port_LostAndFound_IsAnAlarmOfThePort()
    {
        var lost = new AlarmKey((int)FaultCode.LinkLost, AlarmSource.Port(1));
        _rig.Ports[1].Open = false;
        _rig.Run(200);
        Assert.Equal(AlarmState.UnacknowledgedActive, Of(lost).State);
        _rig.Ports[1].Open = true;
        _rig.Run(200);
        Assert.Equal(AlarmState.ReturnedUnacknowledged, Of(lost).State);
    }

    [Fact]
    public void Adapter_ThatHearsItself_IsAnAlarmOfThePortAndToldInItsStatus()
    {
        var hears = new AlarmKey((int)FaultCode.AdapterHearsItself, AlarmSource.Port(1));
        _rig.Ports[1].HearsItself = true;
        Tell(new FaultEvent(_rig.Now, -1, 1, FaultCode.AdapterHearsItself, 0, AxisState.Disabled, 0, double.NaN));
        _rig.Run(200);
        Assert.Equal(AlarmState.UnacknowledgedActive, Of(hears).State);
        Assert.Equal($"{SelfHearing.Finding}; {SelfHearing.Advice}", _rig.Control.Status().Ports[1].Problem);
        Assert.Equal("", _rig.Control.Status().Ports[0].Problem);

        _rig.Ports[1].HearsItself = false;
        _rig.Run(200);
        Assert.Equal(AlarmState.ReturnedUnacknowledged, Of(hears).State);
        Assert.Equal("", _rig.Control.Status().Ports[1].Problem);
    }

    [Fact]
    public void Warning_OfWhichOnlyTheBeginningIsSeen_HasReturnedAtOnce()
    {
        Tell(new FaultEvent(_rig.Now, Drum, 1, FaultCode.ParameterFoundDifferent, 0, AxisState.Ready, 0, 0));
        Assert.Equal(AlarmState.ReturnedUnacknowledged, Of(new AlarmKey((int)FaultCode.ParameterFoundDifferent, AlarmSource.Axis(Drum))).State);
    }

    [Fact]
    public void Warning_OfAShareOfErrors_EndsBelowHalfOfIt()
    {
        var frequent = new AlarmKey((int)FaultCode.DriveErrorsFrequent, AlarmSource.Axis(Drum));
        _rig.Axis(Drum).Now.ErrorPercent = 2.5;
        Tell(new FaultEvent(_rig.Now, Drum, 1, FaultCode.DriveErrorsFrequent, 0, AxisState.Ready, 0, 0));
        _rig.Axis(Drum).Now.ErrorPercent = 1.1;
        _rig.Run(200);
        Assert.Equal(AlarmState.UnacknowledgedActive, Of(frequent).State);
        _rig.Axis(Drum).Now.ErrorPercent = 0.9;
        _rig.Run(200);
        Assert.Equal(AlarmState.ReturnedUnacknowledged, Of(frequent).State);
    }

    [Fact]
    public void Fault_ThatFollowsFromAHardwareStop_RaisesNoAlarm()
    {
        Tell(new FaultEvent(_rig.Now, Drum, 1, FaultCode.UnderVoltage, 0, AxisState.Ready, 0, 0) { ConsequenceOf = EmergencyStop });
        Assert.Empty(_rig.Control.Alarms.Alarms);
        Assert.Single(_rig.Journal.Faults);
    }

    [Fact]
    public void Acknowledgement_ToldAgainWhileItStands_AsksAnew()
    {
        FaultDrum();
        var seen = Of(DrumVoltage).Occurrence;
        _rig.Do(new AcknowledgeCommand([], "Ada"));
        FaultDrum();
        Assert.Equal((AlarmState.UnacknowledgedActive, 2, null), (Of(DrumVoltage).State, Of(DrumVoltage).Occurrences, Of(DrumVoltage).Acknowledged));

        MachineRig.AssertRefused(
            _rig.Do(new AcknowledgeCommand([new AlarmChoice(DrumVoltage.Number, DrumVoltage.Source, seen)], "Ada")), Refusal.AlarmChanged, "drum", "again");
        Assert.Equal(AlarmState.UnacknowledgedActive, Of(DrumVoltage).State);
        Assert.Equal(
            Outcome.Done, _rig.Do(new AcknowledgeCommand([new AlarmChoice(DrumVoltage.Number, DrumVoltage.Source, Of(DrumVoltage).Occurrence)], "Ada")).Outcome);
    }

    [Fact]
    public void Acknowledgement_OfSeveralOfWhichOneIsNotListed_DoesNothing()
    {
        FaultDrum();
        var answer = _rig.Do(new AcknowledgeCommand([new AlarmChoice(DrumVoltage.Number, null), new AlarmChoice(null, AlarmSource.Axis(Tray))], "Ada"));
        MachineRig.AssertRefused(answer, Refusal.UnknownAlarm, "tray");
        Assert.Equal(AlarmState.UnacknowledgedActive, Of(DrumVoltage).State);
    }

    [Fact]
    public void Commands_AboutAlarms_NeedNoAuthorityAndPermitNothing()
    {
        FaultDrum();
        var ticket = _rig.Control.Submit(new AcknowledgeCommand([], "Ada"), null);
        _rig.Step(2);
        Assert.Equal(Outcome.Done, MachineRig.Answer(ticket).Outcome);
        Assert.Equal("operator", _rig.Control.Status().AuthorityHolder);
        MachineRig.AssertRefused(_rig.Do(new EnableCommand([Drum])), Refusal.AxisFaulted, "drum");
    }

    [Fact]
    public void OutOfService_BeyondTheMachineFilesMost_IsRefused()
    {
        MachineRig.AssertRefused(Take(DrumVoltage, TimeSpan.FromHours(8) + TimeSpan.FromMinutes(1)), Refusal.OutOfServiceTooLong, "480 min");
        Assert.Equal(Outcome.Done, Take(DrumVoltage, TimeSpan.FromHours(8)).Outcome);
        Assert.Equal(AlarmState.ShelvedNormal, Of(DrumVoltage).State);

        // Recorded and stopping all the same.
        _rig.Journal.Clear();
        FaultDrum();
        Assert.Equal((AlarmState.ShelvedActive, AxisState.Faulted), (Of(DrumVoltage).State, _rig.Control.Status().Axes[Drum].State));
        Assert.Single(_rig.Journal.Faults);
        MachineRig.AssertRefused(_rig.Do(new AcknowledgeCommand([new AlarmChoice(DrumVoltage.Number, null)], "Ada")), Refusal.AlarmOutOfService, "drum");

        Assert.Equal(Outcome.Done, _rig.Do(new BackInServiceCommand([DrumVoltage], "Ada")).Outcome);
        Assert.Equal(AlarmState.UnacknowledgedActive, Of(DrumVoltage).State);
        MachineRig.AssertRefused(_rig.Do(new BackInServiceCommand([DrumVoltage], "Ada")), Refusal.AlarmInService, "drum");
    }

    [Fact]
    public void OutOfService_OfWhatMayHurtSomeone_IsShortAndNotProlonged()
    {
        var grave = new AlarmKey((int)FaultCode.StopFailed, AlarmSource.Axis(Drum));
        MachineRig.AssertRefused(Take(grave, TimeSpan.FromMinutes(16)), Refusal.OutOfServiceTooLong, "15 min", "hurt");
        Assert.Equal(Outcome.Done, Take(grave, TimeSpan.FromMinutes(15)).Outcome);
        MachineRig.AssertRefused(Take(grave, TimeSpan.FromMinutes(15)), Refusal.AlarmOutOfService, "put it back");
        Assert.Equal(Outcome.Done, Take(DrumVoltage, TimeSpan.FromMinutes(16)).Outcome);
        Assert.Equal(Outcome.Done, Take(DrumVoltage, TimeSpan.FromMinutes(30)).Outcome);
    }

    [Fact]
    public void OutOfService_OfMoreThanAHundred_IsRefusedAsAWhole()
    {
        AlarmKey[] keys = [.. from code in Enum.GetValues<FaultCode>().Where(code => code != FaultCode.None && FaultCatalogue.Entry(code).Priority != FaultPriority.High)
            from axis in Enumerable.Range(0, 4)
            select new AlarmKey((int)code, AlarmSource.Axis(axis))];
        MachineRig.AssertRefused(_rig.Do(new OutOfServiceCommand([.. keys.Take(101)], TimeSpan.FromHours(1), "test", "Ada")), Refusal.MailboxFull, "100");
        Assert.Empty(_rig.Control.Alarms.Alarms);
        Assert.Equal(Outcome.Done, _rig.Do(new OutOfServiceCommand([.. keys.Take(100)], TimeSpan.FromHours(1), "test", "Ada")).Outcome);
        Assert.Equal(Outcome.Done, _rig.Do(new OutOfServiceCommand([.. keys.Take(100)], TimeSpan.FromHours(2), "test", "Ada")).Outcome);
        MachineRig.AssertRefused(Take(keys[100], TimeSpan.FromHours(1)), Refusal.MailboxFull, "100");
        Assert.Equal(100, _rig.Control.Alarms.Alarms.Count);
    }

    [Fact]
    public void OutOfService_OfANumberThatThereIsNot_IsRefused() =>
        MachineRig.AssertRefused(Take(new AlarmKey(999, AlarmSource.Machine), TimeSpan.FromMinutes(5)), Refusal.UnknownAlarm, "999");

    [Fact]
    public void Step_WhileAlarmsStand_AllocatesNothing()
    {
        FaultDrum();
        Take(new AlarmKey((int)FaultCode.LinkLost, AlarmSource.Axis(Tray)), TimeSpan.FromHours(1));
        _rig.Run(1000);
        var now = _rig.Now;
        var least = long.MaxValue;
        for (var round = 0; round < 5; round++)
        {
            var before = GC.GetAllocatedBytesForCurrentThread();
            for (var i = 0; i < 400; i++)
            {
                now += TimeSpan.FromMicroseconds(100);
                _rig.Coordinator.Step(now);
            }

            least = Math.Min(least, GC.GetAllocatedBytesForCurrentThread() - before);
        }

        Assert.Equal(0, least);
    }

    private CommandAnswer Take(AlarmKey key, TimeSpan time) => _rig.Do(new OutOfServiceCommand([key], time, "test", "Ada"));

    private void FaultDrum()
    {
        _rig.PortOf(Drum).Fault(Drum, FaultCode.UnderVoltage);
        _rig.Run(200);
    }

    private void Tell(in FaultEvent fault)
    {
        _rig.Board.Ports[1].Faults.TryWrite(fault);
        _rig.Run(200);
    }

    private AlarmStatus Of(AlarmKey key) => Assert.Single(_rig.Control.Alarms.Alarms, alarm => alarm.Key == key);
}

using Supervisor.History.Entries;
using Supervisor.History.Incidents;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using static Supervisor.History.Tests.Incidents.Told;

namespace Supervisor.History.Tests.Incidents;

/// <summary>What follows from what: each rule finds its own, and nothing that only looks alike.</summary>
public sealed class ConsequenceTests
{
    [Fact]
    public void LinkLost_OfOneLine_FollowsFromTheFirst_AnotherLineDoesNot()
    {
        var told = new Told();
        told.This(Fault(0, "tray", FaultCode.LinkLost));

        Assert.Equal(new Placement(1, Relation.SameLine, 1), told.This(Fault(0.3, "drum", FaultCode.LinkLost)));
        Assert.Equal(Relation.Further, told.This(Fault(0.4, "pump", FaultCode.LinkLost, port: "line-b")).Relation);

        // A drive lost much later has a trouble of its own.
        Assert.Equal(Relation.Further, told.This(Fault(2.5, "late", FaultCode.LinkLost)).Relation);
    }

    [Fact]
    public void LinkLost_OfAPortThatWasLost_FollowsFromThat_AlsoAsTheFirst()
    {
        var told = new Told();
        told.This(new LinkRecord(TimeSpan.FromSeconds(5), "line-a", null, false, ""));

        Assert.Equal(new Placement(2, Relation.SameLine, 1), told.This(Fault(5.1, "tray", FaultCode.LinkLost)));
        Assert.Equal(new Placement(2, Relation.SameLine, 1), told.This(Fault(5.2, "drum", FaultCode.LinkLost)));

        told.This(new LinkRecord(TimeSpan.FromSeconds(5.5), "line-a", null, true, ""));
        Assert.Equal(new Placement(2, Relation.Further), told.This(Fault(6, "tray2", FaultCode.OverCurrent)));
    }

    [Fact]
    public void Port_ToldAsLostAMomentAfterItsDrives_TakesTheLead()
    {
        var told = new Told();
        told.This(Fault(5.0, "tray", FaultCode.LinkLost));
        told.This(Fault(5.01, "drum", FaultCode.LinkLost));

        Assert.Equal(new Placement(1), told.This(new LinkRecord(TimeSpan.FromSeconds(5.05), "line-b", null, false, "")));
        Assert.Equal(new Placement(1, Relation.Leads), told.This(new LinkRecord(TimeSpan.FromSeconds(5.06), "line-a", null, false, "")));
        Assert.Equal(new Placement(1), told.This(new LinkRecord(TimeSpan.FromSeconds(5.5), "line-a", null, true, "")));
        Assert.Equal(new Placement(1), told.This(new LinkRecord(TimeSpan.FromSeconds(9), "line-a", null, false, "")));
    }

    [Fact]
    public void Port_LostAfterAnotherFaultLed_DoesNotLead()
    {
        var told = new Told();
        told.This(Fault(5.0, "pump", FaultCode.OverCurrent));
        told.This(Fault(5.01, "drum", FaultCode.LinkLost));

        Assert.Equal(new Placement(1), told.This(new LinkRecord(TimeSpan.FromSeconds(5.06), "line-a", null, false, "")));
    }

    [Fact]
    public void Interlock_WithAnInputOnALostDrive_FollowsFromThatLoss()
    {
        var told = new Told();
        told.This(Fault(0, "tray", FaultCode.LinkLost));
        told.This(Fault(0, "drum", FaultCode.OverCurrent, port: "line-b"));

        Assert.Equal(new Placement(1, Relation.LostInput, 1), told.This(Opened(2.4, "tray.input1 (silent), tray.input2 (silent)")));
        Assert.Equal(new Placement(1), told.This(Opened(2.4, "drum.input1")));
        Assert.Equal(new Placement(1), told.This(Opened(2.4, "gpio:chip/3")));
        told.This(Back(3, "tray", ReturnStep.Cleared));
        Assert.Equal(new Placement(1), told.This(Opened(4, "tray.input1")));

        static InterlockRecord Opened(double atS, string inputs) => new(TimeSpan.FromSeconds(atS), "guard", InterlockChange.Tripped, [inputs]);
    }

    [Fact]
    public void PowerTakenByHardware_FollowsFromTheInterlockThatOpened()
    {
        var told = new Told();
        told.This(Trip(5, "front guard"));
        told.This(Trip(5, "emergency stop"));

        Assert.Equal(new Placement(3, Relation.HardwareStop, 2), told.This(Fault(5.4, "tray", FaultCode.UnderVoltage, consequenceOf: "emergency stop")));
        Assert.Equal(new Placement(3, Relation.HardwareStop, 1), told.This(Fault(5.5, "drum", FaultCode.UnderVoltage, consequenceOf: "front guard")));
        Assert.Equal(new Placement(3, Relation.HardwareStop), told.This(Fault(5.6, "pump", FaultCode.UnderVoltage, consequenceOf: "not told")));
        Assert.Equal(Relation.Further, told.This(Fault(5.7, "lone", FaultCode.Encoder)).Relation);
    }

    [Fact]
    public void SecondFault_OfAnAxisThatIsFaulted_FollowsFromItsFirst()
    {
        var told = new Told();
        told.This(Fault(0, "drum"));
        told.This(Fault(1, "tray"));

        Assert.Equal(new Placement(1, Relation.SameAxis, 2), told.This(Fault(1.2, "tray", FaultCode.StopFailed)));
    }

    [Fact]
    public void SameFault_AfterItWasCleared_CameAgain_AnotherIsFurther()
    {
        var told = new Told();
        told.This(Fault(0, "tray"));
        told.This(Back(3, "tray", ReturnStep.Cleared));
        Assert.Equal(new Placement(1, Relation.Again, 1), told.This(Fault(4, "tray")));

        told.This(Back(5, "tray"));
        Assert.Equal(new Placement(1, Relation.Further), told.This(Fault(6, "tray", FaultCode.Encoder)));
    }

    [Fact]
    public void FaultAndStop_OfTheGroup_FollowFromTheFaultedMember()
    {
        var told = new Told();
        told.This(Fault(10, "dibber"));

        Assert.Equal(new Placement(1, Relation.SameGroup, 1), told.This(Stop(10.01, "gantry")));
        Assert.Equal(new Placement(1, Relation.SameAxis, 1), told.This(Stop(9.99, "dibber")));
        Assert.Equal(new Placement(1), told.This(Stop(10.02, "tray")));
        Assert.Equal(new Placement(1, Relation.SameGroup, 1), told.This(Fault(10.3, "gantry", port: "line-b")));
        Assert.Equal(new Placement(1), told.This(Stop(15, "gantry")));
        Assert.Equal(Relation.Further, told.This(Fault(15, "tray", port: "line-b")).Relation);
    }

    [Fact]
    public void Supply_OfSeveralDrives_FollowsFromTheFirstOfThem()
    {
        var told = new Told();
        told.This(Fault(0, "tray", FaultCode.UnderVoltage));

        Assert.Equal(Relation.SameSupply, told.This(Fault(0.2, "drum", FaultCode.UnderVoltage, port: "line-b")).Relation);
        Assert.Equal(Relation.SameSupply, told.This(Fault(0.9, "pump", FaultCode.DriveRestarted, port: "line-b")).Relation);
        Assert.Equal(Relation.Further, told.This(Fault(0.95, "hot", FaultCode.OverTemperature, port: "line-b")).Relation);
    }

    [Fact]
    public void PowerDropped_ExplainsWhatLacksPower()
    {
        var told = new Told();
        told.This(Fault(0, null, FaultCode.PowerDropped, port: null));

        Assert.Equal(new Placement(1, Relation.PowerTaken, 1), told.This(Fault(0.5, "tray", FaultCode.UnderVoltage)));
        Assert.Equal(Relation.Further, told.This(Fault(0.6, "drum", FaultCode.FollowingError)).Relation);
    }

    [Fact]
    public void ZoneUnproven_FollowsFromTheOtherAxis()
    {
        var told = new Told();
        told.This(Fault(0, "tray", FaultCode.EncoderBattery));

        Assert.Equal(new Placement(1, Relation.ZoneOfAnother, 1), told.This(Fault(0.2, "drum", FaultCode.ZoneUnproven)));
    }

    [Fact]
    public void PortThreadEnded_ExplainsWhatItsAxesTell()
    {
        var told = new Told();
        told.This(Fault(0, null, FaultCode.PortThreadEnded));

        Assert.Equal(Relation.SameLine, told.This(Fault(0.2, "tray", FaultCode.MoveTimeout)).Relation);
        Assert.Equal(Relation.Further, told.This(Fault(0.3, "drum", FaultCode.MoveTimeout, port: "line-b")).Relation);
    }

    [Fact]
    public void FailedCommand_FollowsFromTheFaultThatEndedIt()
    {
        var told = new Told();
        told.This(Fault(0, "tray"));

        Assert.Equal(new Placement(1, Relation.SameAxis, 1), told.This(Command(0.1, "move tray 300 mm", "tray", Outcome.Failed, FaultCode.FollowingError, "tray")));
        Assert.Equal(new Placement(1), told.This(Command(0.2, "reset tray", "tray", axes: "tray")));
    }

    [Fact]
    public void Cause_MustHaveBeenSeenEarlier()
    {
        var told = new Told();
        told.This(Fault(1.0, "tray", FaultCode.LinkLost));

        Assert.Equal(new Placement(1, Relation.Leads), told.This(Fault(0.9, "drum", FaultCode.LinkLost)));
    }
}

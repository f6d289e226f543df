using Supervisor.Machine.Alarms;
using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Alarms;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Tests.Alarms;

/// <summary>The desk by itself, in as much time as is needed.</summary>
public sealed class DeskTests
{
    private static readonly AlarmKey Door = new(1001, AlarmSource.Machine);
    private readonly FakeJournal _journal = new();
    private readonly AlarmDesk _desk;
    private TimeSpan _now = TimeSpan.FromHours(1);

    public DeskTests()
    {
        _desk = new AlarmDesk(_journal);
        Pass(TimeSpan.Zero);
    }

    [Fact]
    public void Condition_RaisedAgainWhileItStands_IsOneOccurrence()
    {
        Raise();
        Raise();
        Assert.Equal((AlarmState.UnacknowledgedActive, 1), (Shown.State, Shown.Occurrences));
        Assert.Equal([AlarmChange.Raised], _journal.Alarms.Select(note => note.Change));
    }

    [Fact]
    public void Condition_ThatEnds_IsListedUntilItIsAcknowledged()
    {
        Raise();
        Clear();
        Assert.Equal((AlarmState.ReturnedUnacknowledged, (TimeSpan?)_now), (Shown.State, Shown.ReturnedAt));

        _desk.Acknowledge(_desk.Find(Door)!, "Ada");
        Pass(TimeSpan.FromSeconds(1));
        Assert.Empty(_desk.List.Alarms);
        Assert.Equal([AlarmChange.Raised, AlarmChange.Cleared, AlarmChange.Acknowledged], _journal.Alarms.Select(note => note.Change));
        Assert.Equal("Ada", _journal.Alarms[^1].By);
    }

    [Fact]
    public void LatchingCondition_ThatEnds_WaitsForItsReset()
    {
        _desk.Raise(Door, FaultPriority.Low, isLatching: true);
        Clear();
        Assert.Equal(AlarmState.LatchedUnacknowledged, Shown.State);
        _desk.Reset(Door);
        Pass(TimeSpan.FromSeconds(1));
        Assert.Equal(AlarmState.ReturnedUnacknowledged, Shown.State);
    }

    // More than 3 a minute: ISA-18.2 and EEMUA 191 as told by secondary texts; that it ends at no more than one a minute is our own.
    [Fact]
    public void Alarm_RaisedAFourthTimeInAMinute_ChattersUntilItIsRaisedOnceAMinute()
    {
        for (var times = 1; times <= 4; times++)
        {
            Raise();
            Assert.Equal(times > 3, Shown.IsChattering);
            Clear();
            Pass(TimeSpan.FromSeconds(10));
        }

        // Two a minute are too few to begin and enough to go on.
        for (var times = 0; times < 5; times++)
        {
            Pass(TimeSpan.FromSeconds(times == 0 ? 15 : 25));
            Raise();
            Clear();
            Assert.True(Shown.IsChattering);
        }

        Pass(TimeSpan.FromSeconds(55));
        Assert.False(Shown.IsChattering);
    }

    [Fact]
    public void Alarm_RaisedEveryTwentySeconds_DoesNotChatter()
    {
        for (var times = 0; times < 20; times++)
        {
            Raise();
            Clear();
            Pass(TimeSpan.FromSeconds(20));
            Assert.False(Shown.IsChattering);
        }
    }

    [Fact]
    public void Alarm_ThatIsAcknowledgedEachTime_ChattersAllTheSame()
    {
        for (var times = 0; times < 4; times++)
        {
            Raise();
            _desk.Acknowledge(_desk.Find(Door)!, "Ada");
            Clear();
            Pass(TimeSpan.FromSeconds(1));
        }

        Assert.Equal((AlarmState.Normal, true), (Shown.State, Shown.IsChattering));
        Pass(TimeSpan.FromMinutes(2));
        Pass(TimeSpan.FromSeconds(1));
        Assert.Empty(_desk.Kept);
    }

    // Longer than 24 h: ISA-18.2 as told by secondary texts.
    [Fact]
    public void Alarm_ThatStandsForADay_IsStaleUntilItIsOver()
    {
        Raise();
        _desk.Acknowledge(_desk.Find(Door)!, "Ada");
        Pass(TimeSpan.FromHours(24) - TimeSpan.FromSeconds(1));
        Assert.False(Shown.IsStale);
        Pass(TimeSpan.FromSeconds(1));
        Assert.True(Shown.IsStale);
        Clear();
        Assert.Empty(_desk.List.Alarms);
        Raise();
        Assert.False(Shown.IsStale);
    }

    [Fact]
    public void OutOfService_WhenItsTimeIsOver_ComesBackByItselfAndAsks()
    {
        _desk.TakeOut(Door, FaultPriority.Low, TimeSpan.FromHours(2), "the door is being repaired", "Ada");
        Raise();
        Assert.Equal(AlarmState.ShelvedActive, Shown.State);
        Pass(TimeSpan.FromHours(2) - TimeSpan.FromSeconds(2));
        Assert.Equal(("Ada", "the door is being repaired"), (Shown.OutOfService!.By, Shown.OutOfService.Reason));
        Pass(TimeSpan.FromSeconds(2));
        Assert.Equal((AlarmState.UnacknowledgedActive, null), (Shown.State, Shown.OutOfService));
        Assert.Equal([AlarmChange.OutOfService, AlarmChange.Raised, AlarmChange.BackByItself], _journal.Alarms.Select(note => note.Change));
        Assert.Equal(TimeSpan.FromHours(2), _journal.Alarms[0].Until - _journal.Alarms[0].At);
    }

    [Fact]
    public void OutOfService_WhenNothingIsWrong_EndsInNothing()
    {
        _desk.TakeOut(Door, FaultPriority.Low, TimeSpan.FromHours(1), "test", "Ada");
        Raise();
        Clear();
        Assert.Equal(AlarmState.ShelvedNormal, Shown.State);
        Pass(TimeSpan.FromHours(1));
        Assert.Empty(_desk.List.Alarms);
    }

    [Fact]
    public void Alarms_BeyondTheMost_KeepTheGravest()
    {
        var grave = new AlarmKey((int)FaultCode.StopFailed, AlarmSource.Axis(0));
        _desk.Raise(grave, FaultPriority.High);
        for (var number = AlarmKey.FirstOwn; number < AlarmKey.FirstOwn + 3_000; number++)
        {
            _desk.Raise(new AlarmKey(number, AlarmSource.Machine), FaultPriority.Low);
        }

        var late = new AlarmKey((int)FaultCode.LoadNotCarried, AlarmSource.Axis(0));
        _desk.Raise(late, FaultPriority.High);
        Pass(TimeSpan.FromSeconds(1));

        Assert.Equal(1_000, _desk.Kept.Count);
        Assert.Equal([late, grave], _desk.List.Alarms.Take(2).Select(alarm => alarm.Key));
        Assert.Equal(2_002, _desk.List.NotKept);
    }

    [Fact]
    public void Alarm_LessUrgentThanAllThatStand_IsCountedAndDropsNoneOfThem()
    {
        for (var number = AlarmKey.FirstOwn; number < AlarmKey.FirstOwn + 1_000; number++)
        {
            _desk.Raise(new AlarmKey(number, AlarmSource.Machine), FaultPriority.High);
        }

        _desk.Raise(new AlarmKey(5_000, AlarmSource.Machine), FaultPriority.Low);
        Pass(TimeSpan.FromSeconds(1));
        Assert.Equal((1_000, 1), (_desk.List.Alarms.Count(alarm => alarm.Priority == FaultPriority.High), _desk.List.NotKept));
    }

    [Fact]
    public void OutOfService_WhereManyStand_GivesWayToNothingAndHidesNothingGrave()
    {
        for (var number = AlarmKey.FirstOwn; number < AlarmKey.FirstOwn + 1_000; number++)
        {
            _desk.Raise(new AlarmKey(number, AlarmSource.Machine), FaultPriority.High);
        }

        var key = new AlarmKey(5_000, AlarmSource.Machine);
        _desk.TakeOut(key, FaultPriority.Low, TimeSpan.FromHours(1), "test", "Ada");
        for (var number = 6_000; number < 6_100; number++)
        {
            _desk.Raise(new AlarmKey(number, AlarmSource.Machine), FaultPriority.High);
        }

        Assert.Equal((AlarmState.ShelvedNormal, 1_000), (_desk.Find(key)!.State, _desk.Kept.Count));
    }

    [Fact]
    public void Restored_FaultThatItsDriveTellsAnew_IsStillAcknowledged()
    {
        var desk = Restored(AlarmState.AcknowledgedActive);
        desk.Occur(Door, FaultPriority.Low, isLatching: true, "", _now);
        Assert.Equal((AlarmState.AcknowledgedActive, 7), (desk.Find(Door)!.State, desk.Find(Door)!.Occurrences));
        desk.Occur(Door, FaultPriority.Low, isLatching: true, "", _now);
        Assert.Equal((AlarmState.UnacknowledgedActive, 8), (desk.Find(Door)!.State, desk.Find(Door)!.Occurrences));
    }

    [Fact]
    public void Restored_AlarmThatIsToldAnew_IsStillAcknowledged()
    {
        var desk = Restored(AlarmState.AcknowledgedActive);
        desk.Raise(Door, FaultPriority.Low);
        desk.End();
        Assert.Equal((AlarmState.AcknowledgedActive, "Ada", 7), (desk.List.Alarms[0].State, desk.List.Alarms[0].Acknowledged!.By, desk.List.Alarms[0].Occurrences));

        // A later occurrence is a new one.
        desk.Clear(Door);
        desk.Raise(Door, FaultPriority.Low);
        Assert.Equal(AlarmState.UnacknowledgedActive, desk.Find(Door)!.State);
    }

    [Fact]
    public void Restored_TimeOutOfServiceThatIsOver_EndsAtOnce()
    {
        var desk = Restored(AlarmState.ShelvedActive);
        desk.End();
        Assert.Equal(AlarmState.UnacknowledgedActive, desk.Find(Door)!.State);
    }

    [Fact]
    public void Occurrences_AreNumberedOnOverAllAlarmsAndRuns()
    {
        var desk = Restored(AlarmState.AcknowledgedActive);
        desk.Raise(new AlarmKey(1002, AlarmSource.Machine), FaultPriority.Low);
        Assert.Equal(43, desk.Find(new AlarmKey(1002, AlarmSource.Machine))!.Occurrence);
    }

    private AlarmDesk Restored(AlarmState state)
    {
        var desk = new AlarmDesk(_journal);
        var act = new PersonsAct("Ada", TimeSpan.FromMinutes(5));
        desk.Restore([new AlarmStatus(Door, state, FaultPriority.Low, TimeSpan.FromMinutes(1), TimeSpan.FromMinutes(1), 7)
        {
            Occurrence = 42,
            Acknowledged = state.IsShelved() ? null : act,
            OutOfService = state.IsShelved() ? new OutOfService("Ada", "test", act.At, act.At + TimeSpan.FromMinutes(1)) : null,
        }]);
        desk.Begin(_now);
        return desk;
    }

    private AlarmStatus Shown => Assert.Single(_desk.List.Alarms);

    private void Raise()
    {
        _desk.Raise(Door, FaultPriority.Low);
        Publish();
    }

    private void Clear()
    {
        _desk.Clear(Door);
        Publish();
    }

    private void Publish()
    {
        _desk.IsAwaited = true;
        _desk.End();
    }

    private void Pass(TimeSpan time)
    {
        _now += time;
        _desk.Begin(_now);
        _desk.End();
    }
}

using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Axes;

public sealed class ContactTests
{
    [Fact]
    public void Contact_WithNothingInTheWay_FailsAtTheFarthestPosition()
    {
        var world = Ready();
        var contact = world.Give("dibber", AxisCommandKind.Contact, 10, 30, 20);
        world.RunUntil(() => world.EndOf(contact).Outcome != Outcome.None, 20, "contact ends");
        Assert.Equal(Outcome.Failed, world.EndOf(contact).Outcome);
        Assert.Equal(FaultCode.ContactMissing, world.EndOf(contact).Fault);
        Assert.Equal(AxisState.Ready, world.State("dibber"));
        Assert.Equal(10, world.Snapshot("dibber").Position, 0.1);
    }

    [Fact]
    public void Contact_WithSoilInTheWay_ReportsWhereAndHoldsItsTorque()
    {
        var world = Ready();
        var soil = world.Drive("dibber").Plant.Settings.Material!;
        var contact = world.Give("dibber", AxisCommandKind.Contact, 60, 30, 20);
        world.RunUntil(() => world.EndOf(contact).Outcome != Outcome.None, 20, "contact ends");
        var end = world.EndOf(contact);
        Assert.Equal(Outcome.Done, end.Outcome);

        // Pressed into the soil, but not through the layer in which its resistance grows to its full.
        Assert.InRange(end.Value, soil.Surface / 1000, (soil.Surface + soil.Depth) / 1000);
        world.Run(2);
        Assert.Equal(AxisState.Ready, world.State("dibber"));
        Assert.InRange(world.Snapshot("dibber").Torque, 15, 21);
        world.Do("dibber", AxisCommandKind.Move, 0);
        Assert.Empty(world.Faults);
    }

    [Fact]
    public void Fault_WhilePressing_StopsWithTheStoppingTorque()
    {
        var world = Ready();
        var contact = world.Give("dibber", AxisCommandKind.Contact, 60, 30, 20);
        world.RunUntil(() => world.EndOf(contact).Outcome != Outcome.None, 20, "contact ends");
        var limits = new List<int>();
        world.FrameBegun = frame => limits.AddRange(frame.Unit == 3 ? frame.Writes().Where(write => write.Address == 74).Select(write => (int)write.Value) : []);
        world.Drive("dibber").Trip(0x4310);
        world.RunUntil(() => world.State("dibber") == AxisState.Faulted && limits.Count > 0, 1, "a torque limit is written after the fault");

        // 150 % of rated in steps of 0.1 %: with the contact's 20 % a load could not be stopped.
        Assert.Equal(1500, limits[0]);
    }

    [Fact]
    public void Home_WhilePressing_SearchesWithTheHomingTorque()
    {
        var world = Ready();
        var contact = world.Give("dibber", AxisCommandKind.Contact, 60, 30, 20);
        world.RunUntil(() => world.EndOf(contact).Outcome != Outcome.None, 20, "contact ends");
        var limits = new List<int>();
        world.FrameBegun = frame => limits.AddRange(frame.Unit == 3 ? frame.Writes().Where(write => write.Address == 74).Select(write => (int)write.Value) : []);
        world.Do("dibber", AxisCommandKind.Home);
        world.Run(0.2);

        // 30 % of rated for the search in steps of 0.1 %, not the contact's 20 %; then 60 % for holding.
        Assert.Equal([300, 600], limits.Where((limit, index) => index == 0 || limits[index - 1] != limit));
    }

    /// <summary>The soil begins at about 14 mm: a contact before 40 mm is too early, by choice a failed command or a fault.</summary>
    [Theory]
    [InlineData(ContactFailure.Fail, AxisState.Ready)]
    [InlineData(ContactFailure.Fault, AxisState.Faulted)]
    public void Contact_TooEarly_IsWhatTheFileSays(ContactFailure early, AxisState state)
    {
        var world = Ready(new ContactDefinition(40, early, ContactFailure.Fail));
        var contact = world.Give("dibber", AxisCommandKind.Contact, 60, 30, 20);
        world.RunUntil(() => world.EndOf(contact).Outcome != Outcome.None, 20, "contact ends");
        Assert.Equal(Outcome.Failed, world.EndOf(contact).Outcome);
        Assert.Equal(FaultCode.ContactTooEarly, world.EndOf(contact).Fault);
        Assert.Equal(state, world.State("dibber"));
    }

    [Fact]
    public void Contact_BehindThePositionThatIsTooEarly_IsGood()
    {
        var world = Ready(new ContactDefinition(5, ContactFailure.Fault, ContactFailure.Fault));
        world.Do("dibber", AxisCommandKind.Contact, 60, 30, 20);
        Assert.Empty(world.Faults);
    }

    [Fact]
    public void Contact_MissingWhereTheFileSaysFault_Faults()
    {
        var world = Ready(new ContactDefinition(null, ContactFailure.Fail, ContactFailure.Fault));
        var contact = world.Give("dibber", AxisCommandKind.Contact, 10, 30, 20);
        world.RunUntil(() => world.EndOf(contact).Outcome != Outcome.None, 20, "contact ends");
        Assert.Equal(FaultCode.ContactMissing, world.EndOf(contact).Fault);
        Assert.Equal(AxisState.Faulted, world.State("dibber"));
    }

    /// <summary>
    /// 40 % of rated torque accelerate this mass at its ramp (PlantFromAxis); 12 % less its friction take it to half its speed only after the
    /// ramp's time is long over, at about 15 mm. The soil begins at 16 mm.
    /// </summary>
    [Theory]
    [InlineData(12)]
    [InlineData(15)]
    public void Contact_WithLessTorqueThanItsRampNeeds_IsNotTakenWhileItStillGathersSpeed(double torque)
    {
        var axis = new OneAxis
        {
            Feedback = OneAxis.Words + """, { "name": "torque", "register": 6, "type": "s16", "scale": 0.1 }""",
            Command = OneAxis.Commands + """, { "name": "torqueLimit", "register": 74, "type": "u16", "scale": 0.1 }""",
            Axis = """ "torque": { "homing": 60, "moving": 120, "holding": 80, "contact": 25, "stopping": 150 }, "followingError": { "limit": 40, "forMs": 60 }, """ + OneAxis.Homing,
        };
        var world = new SimulatedWorld(axis.Build(), 9);
        world.StartUp();
        world.Do("slide", AxisCommandKind.Home);
        world.Do("slide", AxisCommandKind.Move, 0);
        var soil = world.Drive("slide").Plant.Settings.Material!;
        var contact = world.Give("slide", AxisCommandKind.Contact, 190, 200, torque);
        world.RunUntil(() => world.EndOf(contact).Outcome != Outcome.None, 20, "contact ends");
        Assert.True(world.EndOf(contact).Outcome == Outcome.Done, world.EndOf(contact).ToString());
        Assert.InRange(world.EndOf(contact).Value, soil.Surface / 1000, (soil.Surface + (2 * soil.Depth)) / 1000);
    }

    private static SimulatedWorld Ready(ContactDefinition? contact = null)
    {
        var demo = SimulatedWorld.DemoMachine();
        var machine = contact is null ? demo : demo with { Axes = [.. demo.Axes.Select(axis => axis.Name == "dibber" ? axis with { Contact = contact } : axis)] };
        var world = new SimulatedWorld(machine, 8);
        world.StartUp();
        world.Do("dibber", AxisCommandKind.Home);
        return world;
    }
}
